"""Heelwise: a guided assembly checklist for hydraulic lifters, kept in one record."""

__version__ = "0.1.0"
