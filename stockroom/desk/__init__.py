"""What a person can do: each function is one act, in one transaction."""
