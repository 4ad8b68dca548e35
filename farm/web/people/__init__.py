"""The members of a farm and their invitations."""
