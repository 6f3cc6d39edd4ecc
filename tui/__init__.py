"""The screen: what a person at the bench sees and presses; it calls the desk and nothing below."""
