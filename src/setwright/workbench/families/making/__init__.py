"""New families and new features all at once: from nothing, a file, printings of a parts list, a table of survivors."""
