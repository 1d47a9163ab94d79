"""The demo shop: an invented workshop, its people and what they did."""
