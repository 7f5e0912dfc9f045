"""The command line: parse, one service call, print."""
