"""Every change to the stock. Modules by subject: ledger, reservations, receiving, catalogue, keeping."""
