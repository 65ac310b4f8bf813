# Everything is done by dev.py, which also runs where there is no make: python3 dev.py COMMAND
PYTHON ?= python3

.PHONY: demo check bench long
demo check bench long:
	@$(PYTHON) dev.py $@
