"""`python -m bizkit`: the command line."""

from bizkit.cli.main import run

if __name__ == "__main__":
    run()
