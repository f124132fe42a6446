"""Parts lists of different printings: read, compared, and made into features of a family file."""
