"""The whole business and a whole job on one screen, calendars, and whether everything is as it was issued."""
