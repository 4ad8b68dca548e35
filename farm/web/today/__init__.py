"""The page of today: what to do now by round, and each housing as it should be."""
