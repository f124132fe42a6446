"""Backups: made, verified by reading them back, kept within bounds, and put back.

A backup is a zip file with the database (SQLite, or every table as CSV where the records are in PostgreSQL, see
`tables`) and a list of all files with their sums. One that somebody asks for holds the pictures and scans too; the
daily ones and those before an upgrade only name them, because pictures and scans in the data folder are never changed.
"""
