"""How fast it is, measured and printed, never asserted: `make bench`."""
