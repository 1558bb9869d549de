"""The search for a finite plan, in flat arrays of slots: written once, run plain or compiled.

`columns` names the columns of the arrays, `fits` finds room for one operation, `insertion` places
groups of operations, `search` takes groups out and puts them back better. `compiling` turns these
plain functions into machine code when somebody asks for it; the plain ones give the same plan.
"""
