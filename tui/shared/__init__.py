"""What all screens are put together from: lists, forms, help, a choice in one line, pictures."""
