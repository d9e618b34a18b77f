# make demo-run: the smokehouse's batch at two pretend scales. build/demo-operator is the simulated person.

DEMO_SRC := $(wildcard tests/e2e/demo/*.c)

$(BUILD)/demo-operator: $(DEMO_SRC) $(wildcard tests/e2e/demo/*.h) $(LIB)
	$(call say,LINK,$@)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(CFLAGS) -o $@ $(DEMO_SRC) $(LIB) -lm

# The test of the demonstration runs it.
e2e: $(BUILD)/demo-operator

demo-run: $(BUILD)/tareline $(BUILD)/demo-operator
	@tests/e2e/demo/demo.sh

.PHONY: demo-run
