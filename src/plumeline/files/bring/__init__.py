"""Files of other programs and devices brought in: a reader for each kind, one value, one way into the folder."""
