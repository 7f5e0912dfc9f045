"""How long `bizkit --help` takes beside an empty typer program: `python tests/bench/startup.py`.

Both are run in turn, so that whatever else the machine does weighs on both alike; medians of 15 runs. The aim is a
ratio of 1.3 or less; it is printed, and the exit code is 1 when it is missed.
"""

import statistics
import subprocess
import sys
import time

RUNS = 15
AIM = 1.3

EMPTY = """
import typer
app = typer.Typer()

@app.command()
def nothing() -> None:
    "Do nothing."

app()
"""

PROGRAMS = {
    "empty typer app": [sys.executable, "-c", EMPTY, "--help"],
    "bizkit --help": [sys.executable, "-c", "from bizkit.cli.main import run; run()", "--help"],
}


def seconds(command: list[str]) -> float:
    """Wall-clock time of one run, start of the interpreter included."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def main() -> int:
    for command in PROGRAMS.values():
        seconds(command)  # so that bytecode is compiled and files are cached
    times: dict[str, list[float]] = {name: [] for name in PROGRAMS}
    for _ in range(RUNS):
        for name, command in PROGRAMS.items():
            times[name].append(seconds(command))
    empty, bizkit = (statistics.median(times[name]) for name in PROGRAMS)
    for name, measured in times.items():
        print(f"{name:<16} median {statistics.median(measured) * 1000:6.0f} ms, least {min(measured) * 1000:6.0f} ms")
    print(f"ratio {bizkit / empty:.2f} (aim: {AIM} or less)")
    return 0 if bizkit / empty <= AIM else 1


if __name__ == "__main__":
    sys.exit(main())
