"""From a brief to an accepted quote: price, draft, send, compare, accept; floor, weather, deals."""
