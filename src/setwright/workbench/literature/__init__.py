"""The literature shelf: documents, where a copy of each is, their scans, and what cites them."""
