"""Forms: typed text becomes the values that operations take."""
