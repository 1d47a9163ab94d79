"""The second door: the same operations as JSON, version 1."""
