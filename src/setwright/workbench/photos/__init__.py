"""Photos: cleaned when they come in, kept by content outside the web root, pinned to what they show.

A photo stands in the file of its set (`[[photo]]`) or in its survivor's row (`x-photos`); what is kept here is the
picture itself, under the SHA-256 of its cleaned copy. `cleaning` makes that copy, `store` keeps it and gives it out,
`thumbnails` makes the small ones. A picture is served only through a set or survivor that names it.
"""
