"""Condition on the screen: strips, whites, faces of sheets, faults of rolls."""
