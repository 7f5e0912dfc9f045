"""Pure rules: standard library and dateutil only. No files, no clock, no locale, no database."""
