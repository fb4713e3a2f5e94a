"""The arithmetic of the valve train: lengths in mm, angles in crank degrees, torques in N·m.

Nothing here reads a file, draws on a screen or knows a unit's name.
"""
