"""Formulas of load-securing standards, one module per body of text.

Every coefficient, factor and limit is an argument: which ones apply is decided by rules. Only
tables are data here. What these texts call a lashing is a tiedown elsewhere in this project. They
calculate with masses and g = 9.81 m/s2; here every mass is stated by its weight in newtons, so a
figure that compares a mass with a rating in kN comes out 0.03 % lower where weights are made with
standard gravity.

Numbers of lashings are exact, not rounded up: half a lashing too few must stay visible.

Each docstring says how its source is known: *text seen* (read in the document named), *secondary
copy* (read in something that restates it), *from memory* (not read anywhere), *derived* (own
statics). The body of EN 12195-1 itself was not readable: what is stated about it comes from the
documents named beside it.
"""
