"""Work on the screen: jobs, one job, bookings, and how a print or a mount came out."""
