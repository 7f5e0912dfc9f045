"""From a brief to an accepted quote: price, draft, send, compare, accept; bookings, floor, weather, deals."""
