"""What was promised and what was sent: deliverables, versions, review rounds."""
