"""Statics of trailer, tow vehicle and tiedowns: pure functions of one value or of many rows.

Everything is in SI units (newtons, metres, radians, seconds). Weights are forces. A position is
measured x rearward from the ball centre, y to the left, z up. NaN means "not stated"; a result that
depends on it is NaN. There are no limits here: limits belong to rules.
"""
