# Everything a person types is here; the steps themselves are the scripts in .make/.
.POSIX:
.NOTPARALLEL:
.PHONY: help run test lint check bench pictures requirements clean
PORT = 8000
DEMO = 1

help: ## this list
	@awk -F ':.*## ' '/^[a-z]+:.*## / { printf "  make %-14s %s\n", $$1, $$2 }' Makefile

run: ## start the program on this machine: make run [PORT=8000] [DEMO=0 starts empty]
	@PORT='$(PORT)' DEMO='$(DEMO)' .make/run

test: ## the whole test suite, on SQLite and then on PostgreSQL
	@.make/test

lint: ## every gate but the tests: style, arrows between apps, types, migrations, deployment settings
	@.make/lint

check: lint test ## every gate, then the tests

pictures: ## take the README’s pictures anew
	@.make/system-packages test && .make/environment dev && .venv/bin/python .make/pictures.py

bench: ## the benchmarks under tests/bench
	@.make/bench

requirements: ## compile requirements*.in into requirements*.txt with hashes
	@.make/requirements

clean: ## remove the environment and the tools' caches; run-time data in var/ stays
	rm -rf .venv .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis staticfiles
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
