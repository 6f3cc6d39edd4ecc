"""Cut plans: pieces from sheets, offcuts, bars and rolls, and a checker that shares no code."""
