"""Today and one booked print on the screen."""
