"""What a machine will ask for, and whether it meets a target: machine files and targets to predictions and verdicts.

In: Machine files, loads, a travel, what is varied; targets as phrases and files.
Out: Predicted results of the kind that a measurement gives; judgements.
"""
