# make e2e: whole runs of the program on real ttys. test_*.py and test_*.sh in this folder, each on its own.
# make faults: the long campaigns (kills, power cuts, line noise).

E2E_TESTS := $(wildcard tests/e2e/test_*.py tests/e2e/test_*.sh)
TEST_TARGETS += e2e

e2e: $(BUILD)/tareline ## run the end-to-end tests on real ttys (E2E="kill json_batch": only these)
	@bad=0; for t in $(if $(E2E),$(foreach e,$(E2E),$(filter %/test_$(e).py %/test_$(e).sh,$(E2E_TESTS))),$(E2E_TESTS)); do \
	    TARELINE=$(BUILD)/tareline tests/check e2e/$$(basename $$t) $$t || bad=1; done; exit $$bad

KILLS ?= 200
faults-kill: $(BUILD)/tareline
	@TARELINE=$(BUILD)/tareline tests/check faults/kill-$(KILLS) tests/e2e/test_kill.py $(KILLS)

FAULT_TARGETS += faults-kill
.PHONY: e2e faults-kill
