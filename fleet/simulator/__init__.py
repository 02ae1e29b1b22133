"""A house of units in a process of its own, speaking real mDNS and HTTP, with people and faults in it.

It imports the model alone: it is a peer of the program, and a codec or a transform shared with it would
hide a mistake made twice.
"""
