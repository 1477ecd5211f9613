"""What this computer has for measuring, examined part by part.

In: The computer as it is, and the folder that one works in.
Out: An examination per part, with facts that a sentence and its remedy belong to.
"""
