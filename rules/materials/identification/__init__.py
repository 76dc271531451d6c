"""Which plastic a part is made of, from its marking, simple bench tests and what part it is.

Everything that is believed beforehand is data: `identification.yaml` in the pack. `reading` checks
it, `beliefs` weighs evidence by Bayes' rule, `choosing` finds the next best test, `identify` answers.
"""
