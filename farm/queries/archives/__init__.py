"""Archives: everything of a farm in one file, to keep or to bring to another server. What goes in, and how."""
