# Same Sky: everything a contributor runs. `make demo` and `make test` set themselves up.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
export OMP_NUM_THREADS ?= 1
export OPENBLAS_NUM_THREADS ?= 1
export MPLBACKEND ?= Agg

.PHONY: demo test test-all unit slow notebooks book answers pdf printed-values benchmarks benchmarks-short coverage-study worlds-study mutants lint examples wheel clean

demo: $(VENV)/.runtime
	$(BIN)/samesky check data_synthetic/finer_pitch
	$(BIN)/samesky compare data_synthetic/finer_pitch
	@mkdir -p out
	$(BIN)/samesky report data_synthetic/finer_pitch --out out/finer_pitch.html

test: lint notebooks unit book

# The slow studies beside it: every case of what `make test` flies in part.
test-all: test slow

unit: $(VENV)/.complete
	$(BIN)/python -m pytest -n 2 --dist loadscope -m "not slow"

slow: $(VENV)/.complete
	$(BIN)/python -m pytest -n 2 --dist load -m slow

# Every chapter is run once: its checked cells are held against what is stored, and the book is made of the same run.
notebooks: $(VENV)/.complete
	$(BIN)/python book/tools/run_chapters.py

book: $(VENV)/.complete
	$(BIN)/python book/tools/build.py

# The handbook with the instructor's key, in a folder of its own.
answers: $(VENV)/.complete
	$(BIN)/python book/tools/build.py --answers

# One PDF of the whole handbook: out/same_sky.pdf. Needs Chromium.
pdf: book
	$(BIN)/python book/tools/pdf.py

# Which printed values tests and chapters hold: the table of the appendix.
printed-values: $(VENV)/.complete
	$(BIN)/python book/tools/printed_values.py

benchmarks: $(VENV)/.complete
	$(BIN)/python -m pytest tests/benchmarks -o addopts=-q --benchmark-only -s

# Each benchmark once on little, in well under two minutes: whether it still runs, not how fast.
benchmarks-short: $(VENV)/.complete
	SAMESKY_SHORT=1 $(BIN)/python -m pytest tests/benchmarks -o addopts=-q --benchmark-only --benchmark-disable-gc \
		--benchmark-min-rounds=1 --benchmark-max-time=0.01 --benchmark-calibration-precision=1

coverage-study: $(VENV)/.complete
	$(BIN)/python -m tests.coverage.study

# Identical propellers in worlds that are not ours: is anybody called better? Some minutes on one core.
worlds-study: $(VENV)/.complete
	$(BIN)/python -m tests.worlds.study

# Small wrong changes that the tests of a room must notice: make mutants ROOM=air
mutants: $(VENV)/.complete
	$(BIN)/python -m tests.mutants $(ARGS) $(ROOM)

lint: $(VENV)/.complete
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

examples: $(VENV)/.complete
	$(BIN)/python -m samesky.simulator.examples.catalogue data_synthetic

# The source distribution, the wheel built from it, and that wheel alone in a bare environment.
wheel: $(VENV)/.complete
	rm -rf out/wheel
	$(BIN)/python -m build --outdir out/wheel/dist .
	mkdir -p out/wheel/elsewhere
	$(BIN)/python tests/packaging/bare_environment.py out/wheel/dist out/wheel/elsewhere

clean:
	rm -rf book/_build out

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/.runtime: pyproject.toml | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --editable .
	touch $@

$(VENV)/.complete: pyproject.toml | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --editable '.[book,test]'
	touch $@ $(VENV)/.runtime
