"""Figures of the program against their goals: `make bench`, one line each.

A module here measures one subject; each function marked `@figure` gives one number. Figures that
share a measurement share a cached function. `python -m bench` finds them all.
"""
