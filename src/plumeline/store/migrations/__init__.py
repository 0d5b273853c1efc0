"""Steps that bring a database of an older version to the tables of this one, in order."""
