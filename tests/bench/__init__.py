"""Speed and memory beside a baseline in one run: `make bench`. Nothing here is in `make test`."""
