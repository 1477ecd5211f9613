"""One module a command of ``feltload``: parse, call one function below, hand the facts on.

In: A command line, and the options that all commands share.
Out: Words on the terminal or JSON, files written, an exit code.
"""
