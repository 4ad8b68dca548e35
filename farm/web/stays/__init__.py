"""Where a batch lives: forms to plan, change and remove stays, and to move birds."""
