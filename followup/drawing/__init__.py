"""Where things stand in a picture: exact geometry over domain values. No words, records or templates."""
