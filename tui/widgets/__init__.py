"""What the screens are made of: each draws one thing from a glance, and holds no rule."""
