"""What all pages share: the frame, the style sheet, headers, words and the first page."""
