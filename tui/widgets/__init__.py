"""The parts that screens are put together from."""
