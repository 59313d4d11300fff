"""The pure layer: published equations as functions of numbers, nothing else.

Every function takes floats or numpy arrays and broadcasts over them, so one call answers for a
single formula or for a few hundred draws of its uncertain inputs (the last axis, by custom). What
is passed as a list of components has them along axis 0. Model parameters are arguments; a named
constant says where its figure comes from. Temperatures are in degrees Celsius, unknown values are
NaN and stay NaN, and an impossible input (a negative mass, a fraction above one) is a ValueError.
"""
