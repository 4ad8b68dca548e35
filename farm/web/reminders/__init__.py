"""What a member is told and how, and for keepers what did not arrive."""
