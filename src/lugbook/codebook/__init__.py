"""Published rules and limits by book and edition; knows no physics."""
