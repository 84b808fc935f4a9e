"""Every change to a batch record."""
