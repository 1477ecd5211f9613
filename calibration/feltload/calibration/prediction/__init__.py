"""What a machine will ask for before it is built: its curve from the machine file alone.

In: A machine, loads, a travel; what is known of friction; dimensions to vary.
Out: A profile of the kind that a measurement gives, moment arms and felt mass beside it; the same for every variant.
"""
