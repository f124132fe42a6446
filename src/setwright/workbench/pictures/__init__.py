"""Pictures drawn by the site itself: geometry as plain values, laid out by SVG templates."""
