"""Bytes on disk: appending, flushing, seals, the lock, torn ends. Knows nothing of engines."""
