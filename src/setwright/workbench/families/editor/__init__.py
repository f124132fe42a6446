"""The family editor: a grid of features and versions, and a form for each table of the family file."""
