"""Moved."""

from heelwise.documents.toml import CAP as CAP  # moved
from heelwise.documents.toml import parse_toml as parse_toml  # moved
from heelwise.documents.toml import read_bytes as read_bytes  # moved
from heelwise.documents.toml import read_toml as read_toml  # moved
