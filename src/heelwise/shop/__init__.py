"""What a shop's records know: the folder's builds, read and put beside each other."""
