"""Views of the API: they read, call an operation or a selection, answer."""
