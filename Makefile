# Set-up, demo, tests and checks. `make` alone prints the targets.

PYTHON ?= python3
BIN := .venv/bin
STAMP := .venv/setup.stamp

# What Qt loads without a screen, what a window needs besides, a screen for tests, and the program
# that checks a record from outside.
OFFSCREEN := libglib2.0-0 libgl1 libegl1 libxkbcommon0 libdbus-1-3 libfontconfig1
WINDOW := libxcb-cursor0 libxcb-icccm4 libxcb-keysyms1 libxcb-shape0 libxcb-xkb1 libxkbcommon-x11-0
DEBIAN_PACKAGES := $(OFFSCREEN) $(WINDOW) xvfb openssl
# Third-party programs that tests run against: a broker, a web server, Node.js, hosts of their own.
PEER_PACKAGES = mosquitto lighttpd lighttpd-mod-openssl iproute2 iptables $(if $(shell command -v npm),,nodejs npm)

.PHONY: help setup system-packages peers demo test check bench soak pictures format lock
.DEFAULT_GOAL := help
# A half-made environment must not pass for a finished one.
.DELETE_ON_ERROR:

help:  ## Print this list
	@sed -n 's/^\([a-z-]*\):.*## \(.*\)/  make \1|\2/p' $(MAKEFILE_LIST) | \
	  while IFS='|' read -r target purpose; do printf '%-16s %s\n' "$$target" "$$purpose"; done

setup: $(STAMP)  ## Make .venv with everything pinned; leaves .venv/bin/walkdown

# Debian renamed some libraries (…t64) in later releases and still takes the old names; either will do.
system-packages:
	@if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then \
	  echo "This is no Debian: if Qt misses libraries, install what these Debian packages hold:"; \
	  echo "  $(DEBIAN_PACKAGES)"; \
	  exit 0; \
	fi; \
	missing=""; \
	for package in $(DEBIAN_PACKAGES); do \
	  dpkg-query -W -f '$${db:Status-Abbrev}\n' $$package $${package}t64 2>/dev/null \
	    | grep -q '^ii' || missing="$$missing $$package"; \
	done; \
	$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || [ -x $(BIN)/python ] \
	  || missing="$$missing python3 python3-venv"; \
	[ -n "$$missing" ] || exit 0; \
	if [ "$$(id -u)" = 0 ]; then as_root=""; \
	elif sudo -n true 2>/dev/null; then as_root="sudo -n"; \
	else as_root="none"; fi; \
	if [ "$$as_root" != none ]; then \
	  echo "Installing Debian packages:$$missing"; \
	  if $$as_root apt-get update -q && \
	     $$as_root env DEBIAN_FRONTEND=noninteractive \
	       apt-get install -q -y --no-install-recommends $$missing; then exit 0; fi; \
	  echo "They could not be installed; going on without them."; \
	fi; \
	echo "Debian packages are missing. Type this line, then make again:"; \
	echo "  sudo apt-get install --no-install-recommends$$missing"

$(STAMP): requirements-dev.lock pyproject.toml | system-packages
	@[ -x $(BIN)/python ] || $(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { \
	  echo "Python 3.11 or later is needed. Name one: make setup PYTHON=python3.11"; exit 1; }
	@[ -x $(BIN)/python ] || $(PYTHON) -c 'import ensurepip, venv' 2>/dev/null || { \
	  echo "This Python can't make a virtual environment. On Debian type:"; \
	  echo "  sudo apt-get install python3-venv"; exit 1; }
	[ -x $(BIN)/python ] || $(PYTHON) -m venv .venv
	$(BIN)/python -m pip --version >/dev/null 2>&1 || $(BIN)/python -m ensurepip
	$(BIN)/python -m pip install -q --disable-pip-version-check --require-hashes \
	  -r requirements-dev.lock
	$(BIN)/python -m pip install -q --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $@

demo: setup  ## Commission the invented demo house, in a window where there is a display
	$(BIN)/walkdown demo

peers: setup  ## Install the third-party programs that tests run against, into out/peers
	@$(MAKE) --no-print-directory system-packages DEBIAN_PACKAGES="$(PEER_PACKAGES)"
	$(BIN)/python -m tests.peers.install

# Besides coverage's own total (lines and branches, in pyproject.toml) the branches alone must reach 85 %.
test: setup peers  ## Run all tests; fails under 85 % branch coverage of fleet/
	@mkdir -p out
	$(BIN)/python -m pytest --cov=fleet --cov-branch --cov-report=term --cov-report=json:out/coverage.json
	@$(BIN)/python -c "import json, sys; t = json.load(open('out/coverage.json'))['totals']; \
	p = 100 * t['covered_branches'] / max(1, t['num_branches']); \
	sys.exit(p < 85 and f'branches of fleet/ alone are covered to {p:.1f} %, and 85 % are asked')"

check: setup  ## Lint, format, strict types and layer contracts
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

# A ratio over its gate ends with an error; milliseconds are reported. Figures go to tests/bench/README.md.
bench: setup  ## Measure speed beside a baseline in the same run
	$(BIN)/python -m pytest tests/bench -o python_files='bench_*.py' --benchmark-only \
	  --benchmark-columns=min,median,max,rounds -q

soak: setup  ## Stream 500 simulated units for ten minutes and count
	$(BIN)/python -m tests.bench.soak --units 500 --minutes 10

pictures: setup  ## Draw pictures of the workbench into out/pictures
	$(BIN)/python -m tests.ui.pictures out/pictures

format: setup  ## Lay the code out and mend what ruff can mend
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

# Hashes pin what is installed; where it comes from is the machine's own affair and stays out of the files.
COMPILE := $(BIN)/uv pip compile pyproject.toml --universal --python-version 3.11 --generate-hashes \
  --no-header --no-annotate --no-strip-extras --no-emit-index-url --no-emit-find-links --quiet

lock: setup  ## Pin the dependencies anew, with hashes
	$(COMPILE) --upgrade --output-file requirements.lock
	$(COMPILE) --upgrade --group dev --constraint requirements.lock --output-file requirements-dev.lock
