"""What pump: see the models, the desk and the two packages of computation."""

# Kept with every frozen choice; to be raised whenever an answer may come out differently.
__version__ = "1"
