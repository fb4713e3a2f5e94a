"""The guided sequence: what to ask next, from the entries alone."""
