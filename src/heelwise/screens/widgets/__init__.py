"""Pieces the screens are made of."""
