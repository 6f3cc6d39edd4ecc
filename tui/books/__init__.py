"""The books on the screen: what was done, and taking it back."""
