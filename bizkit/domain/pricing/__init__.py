"""What the studio charges: rate card, brief, crew days, kit days, usage fee, estimate."""
