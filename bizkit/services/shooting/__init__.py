"""The job on its days: as worked and as moved, costs, worksheets, plans, calling off."""
