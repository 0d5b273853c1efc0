# `make demo` and `make test` are the two commands; each sets up what it needs in .venv.
PYTHON ?= python3
BIN := .venv/bin

.PHONY: help setup setup-test demo test check proof proof-quick clean

help:
	@echo "make demo   set up, work through the demo pond, leave build/hollow-oak/"
	@echo "make test   set up and run everything that CI runs"
	@echo "make proof  every constant, sign and logarithm of science/ changed once, against the published tests"
	@echo "make check  the quick part: format, lint, types, import floors"

setup:
	@$(PYTHON) scripts/setup_environment.py run

setup-test:
	@$(PYTHON) scripts/setup_environment.py test

demo: setup
	@$(BIN)/python scripts/demo.py

check: setup-test
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports

test: check
	$(BIN)/python -m pytest -n 2 --dist loadfile

# long studies: so far every mutation of science/ against the published tests (about two minutes)
proof: setup-test
	$(BIN)/python scripts/mutate_science.py

clean:
	rm -rf build
