"""The site: records of families, sets and survivors, and the pages that show what follows from them."""
