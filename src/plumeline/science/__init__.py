"""Ground floor: one scalar function per published relation, floats and math only."""
