"""Pure rules of the trade: no clock, no files, no SQL, no screen."""
