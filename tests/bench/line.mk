# make bench-line: what damage on a scale's line does to weights, and what a line costs. A short sweep with its hard goals runs
# in make test.
TEST_TARGETS += bench-line-short



bench-line: $(BUILD)/bench-line ## damage every scale's recording 100,000 times: no wrong weight is accepted (1 minute)
	@$(BUILD)/bench-line

bench-line-short: $(BUILD)/bench-line
	@tests/check bench/line-short $(BUILD)/bench-line --short

$(BUILD)/bench-line: tests/bench/line.c tests/replay/load.c tests/replay/load.h $(LIB)
	@mkdir -p $(@D)
	$(call say,LINK,$@)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(CFLAGS) -o $@ $(filter %.c,$^) $(LIB) $(PKG_LIBS) -lm

.PHONY: bench-line bench-line-short
