"""Models: reading, soundness, layers, thin features, orientation, sections, resizing.

A mesh goes in, findings and figures come out. Lengths are millimetres. Nothing here knows about the
command line; nothing here changes a model unless it was told to, and then it says what it did.
"""
