"""`python -m assistant` is the command `superheard`."""

from assistant.cli import main

if __name__ == "__main__":
    main(prog_name="superheard")
