# make line: a short selection of the ways in which a scale's line can fail, on the whole station (LINE="silent flood": these).
# make faults: every one.

LINE_RUN  := tests/faults/line/run.py
LINE_JOBS ?= 4
TEST_TARGETS += line
FAULT_TARGETS += faults-line

line-rows = printf '%s\n' $(1) | TARELINE=$(BUILD)/tareline \
    xargs -P $(LINE_JOBS) -I{} sh -c 'CHECK_SECONDS=300 tests/check faults/line-{} $(LINE_RUN) {}'

line: $(BUILD)/tareline ## the short selection of line faults (LINE="silent flood": only these)
	@$(call line-rows,$(or $(LINE),$$($(LINE_RUN) --short)))

faults-line: $(BUILD)/tareline
	@$(call line-rows,$$($(LINE_RUN) --list))

.PHONY: line faults-line
