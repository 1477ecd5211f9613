"""What a machine asks, and how it agrees with its survey or compares with another, in words.

In: Profiles, agreements, surveys and comparisons.
Out: Sentences for terminal, report and comparison page.
"""
