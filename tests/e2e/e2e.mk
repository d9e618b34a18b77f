# make e2e: whole runs of the program on real ttys. test_*.py and test_*.sh in this folder, each on its own.
# make faults: the long campaigns (kills, power cuts, line noise).

E2E_TESTS := $(wildcard tests/e2e/test_*.py tests/e2e/test_*.sh)
# Names without test_ and ending; one that is not there is an error. They mostly wait, at the pace of people and scales, so
# four run at a time, the long ones first.
E2E_RUN   := $(if $(E2E),$(foreach e,$(E2E),$(or $(wildcard tests/e2e/test_$(e).py tests/e2e/test_$(e).sh),no-e2e-test-named-$(e))),\
    $(filter %demo.sh %pretend.py %refusals.py %ways.py %cues.py %screen.py %protocol.py %truth.py,$(E2E_TESTS)) \
    $(filter-out %demo.sh %pretend.py %refusals.py %ways.py %cues.py %screen.py %protocol.py %truth.py,$(E2E_TESTS)))
E2E_JOBS  ?= 4
TEST_TARGETS += e2e

e2e: $(BUILD)/tareline $(E2E_RUN) ## run the end-to-end tests on real ttys (E2E="kill json_batch": only these)
	@printf '%s\n' $(E2E_RUN) | TARELINE=$(BUILD)/tareline xargs -P $(E2E_JOBS) -I{} sh -c 'tests/check e2e/$$(basename {}) {}'

KILLS ?= 200
faults-kill: $(BUILD)/tareline
	@CHECK_SECONDS=3600 TARELINE=$(BUILD)/tareline tests/check faults/kill-$(KILLS) tests/e2e/test_kill.py $(KILLS)

FAULT_TARGETS += faults-kill
.PHONY: e2e faults-kill
