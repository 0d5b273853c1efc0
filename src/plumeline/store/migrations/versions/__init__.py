"""One file a step; a released step is never edited."""
