"""SQLite as Django speaks to it, with whoever wants to write standing in one line."""
