"""Facts as data, each with its source, the day it was read and the day it took effect."""
