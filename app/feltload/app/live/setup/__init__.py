"""What a measurement begins with: files of the working folder, choices, and the request that they make.

In: A folder, what a person chose or typed.
Out: A request to the recorder; what is still missing; an emulated rig where there is no other.
"""
