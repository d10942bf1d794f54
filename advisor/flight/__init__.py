"""What the wind does to a low, constant-radius or straight track: array code, degrees at every border.

All functions broadcast as numpy does and work in float64; a scalar call is the array code on shape ``()``.
NaN in gives NaN out, and what cannot be flown is NaN, never a silent number.
"""
