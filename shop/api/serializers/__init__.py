"""JSON to the arguments of operations, and rows to JSON. Every number's unit stands in its key."""
