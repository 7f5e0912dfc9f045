"""The job on its days: who and what is booked, days as worked and moved, costs, charges, plans, calling off."""
