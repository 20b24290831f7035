"""The battery and the disc: what is shown, what a trial is, and what a recording is made of.

Millimetres on the glass, y up, origin at the centre of the field; seconds from the moment the disc sets off.
"""
