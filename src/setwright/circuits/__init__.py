"""What to measure in a set: its network, its tubes, its supplies, and what a meter shows at each point."""
