"""What breaks in a machine room, done to real processes."""
