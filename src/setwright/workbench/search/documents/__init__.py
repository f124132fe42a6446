"""What of each record can be found: one function a kind of record, giving its items."""
