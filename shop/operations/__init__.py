"""What the workshop does; the only way anything changes."""
