"""What was promised and what went out: versions, notes, rounds, file checks, handover, archive."""
