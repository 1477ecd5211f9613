"""The live pages: start, measure, hands, result; built of plain elements with a look of their own.

In: The state of the recorder, a machine, what is found on ports and by radio.
Out: Pages, and what a person taps on them passed on.
"""
