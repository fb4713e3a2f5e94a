"""Geometry of crank, cam and engine turned into cells or SVG."""
