"""Records and their history: every change is kept with who and when, can be undone, and removing is recoverable.

`models` has `Document`, from which every kind of record inherits, and `Revision`; `keeping` changes records,
`history` reads and takes back what was done, `kinds` is where an app says how its kind of record is read.
"""
