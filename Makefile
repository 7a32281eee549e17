# Each verb is in tools/bootstrap.py. More for it: make test ARGS="tests/physics -k heat"
PYTHON ?= python3
.PHONY: setup run test prove lint bench
setup run test prove lint bench: ; @$(PYTHON) tools/bootstrap.py $@ $(ARGS)
