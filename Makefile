# `make demo` and `make test` are the two commands; each sets up what it needs in .venv.
PYTHON ?= python3
BIN := .venv/bin
# two test processes on two cores: threads of the linear algebra would only wait for each other, a hundred times as long
export OPENBLAS_NUM_THREADS := 1
# the tests start the program a hundred times over; where nothing compiled is kept, each start reads 600 files anew
unexport PYTHONDONTWRITEBYTECODE

.PHONY: help setup setup-test environment-test kernels looks demo test check proof proof-quick soak soak-quick clean

help:
	@echo "make demo   set up, work through the demo pond, leave build/hollow-oak/"
	@echo "make test   set up and run everything that CI runs"
	@echo "make proof  the studies behind the plan, written to docs/proof/ (up to two hours; resumes); proof-quick: a small form"
	@echo "make soak   the long forms of the tests of cuts, kills, faults, hand-overs and the API, written to docs/proof/soak.md (up to six and a half hours; resumes); soak-quick: a small form"
	@echo "make check  the quick part: format, lint, types, import floors"

setup:
	@$(PYTHON) scripts/setup_environment.py run

setup-test:
	@$(PYTHON) scripts/setup_environment.py test

demo: setup
	@$(BIN)/python scripts/demo.py

# what is installed for the tests, without the kernels
environment-test:
	@$(PYTHON) scripts/setup_environment.py test --without-kernels

kernels:
	@$(BIN)/python -m plumeline.kernels.warm

# format, lint, types, import floors
looks:
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports

check: setup-test
	@$(MAKE) --no-print-directory looks

# compiling and checking the types take one core each; files of tests are begun in the order of tests/conftest.py
test: environment-test
	@$(MAKE) --no-print-directory -j 2 kernels looks
	$(BIN)/python -m pytest -n 2 --dist loadfile --no-loadscope-reorder
	$(BIN)/python -m scripts.proof.run --quick

# the studies that show the plan to be true, up to two hours on two cores; goes on where it was stopped
proof: setup-test
	$(BIN)/python -m scripts.proof.run

# a small form of each, three minutes at most
proof-quick: setup-test
	$(BIN)/python -m scripts.proof.run --quick

# the long forms of the tests of cuts, kills, faults, hand-overs and the API, up to six and a half hours; goes on where it was stopped
soak: setup-test
	$(BIN)/python -m scripts.soak.run

# a small form of each, ten minutes at most
soak-quick: setup-test
	$(BIN)/python -m scripts.soak.run --quick

clean:
	rm -rf build
