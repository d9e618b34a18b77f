# make coverage: branch coverage of src/core by the unit tests, in a build folder of its own.

COVERAGE := $(BUILD)/coverage

coverage: ## branch coverage of core by the unit tests (goal: 95 %)
	@mkdir -p $(COVERAGE)
	@find $(COVERAGE) -name '*.gcda' -delete
	+$(Q)$(MAKE) $(jobs) -k BUILD=$(COVERAGE) UNIT_SAN='-O0 -g --coverage' unit >$(COVERAGE).log || \
	    { tail -n 30 $(COVERAGE).log; exit 1; }
	@gcovr -r . --filter src/core/ --object-directory $(COVERAGE) $(COVERAGE)/san \
	    --branches --exclude-unreachable-branches --json-summary $(COVERAGE)/summary.json --txt $(COVERAGE)/branches.txt
	@tests/coverage/say.py $(COVERAGE)/summary.json

.PHONY: coverage
