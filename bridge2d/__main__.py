"""`python -m bridge2d`: the same door as the command `bridge2d`."""

from bridge2d.cli import run

if __name__ == "__main__":
    run()
