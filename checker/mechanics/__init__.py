"""Statics of trailer, tow vehicle and tiedowns: pure functions of one value or of many rows.

Everything is in SI units (newtons, metres, radians, seconds). Weights are forces. A place is
measured x rearward from the ball centre, y to the left, z up. NaN means "not stated" and comes
out wherever it mattered. No limit stands here: limits belong to rules.
"""
