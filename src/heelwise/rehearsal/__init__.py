"""A virtual engine that answers the walk, with planted faults."""
