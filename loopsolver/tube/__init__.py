"""One tube by itself: its stock, its centre line, its bend table. No surroundings."""
