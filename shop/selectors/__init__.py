"""Questions the pages ask; nothing here changes anything."""
