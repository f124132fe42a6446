"""Tags of the pictures' templates."""
