# make bench: what the program costs, against bare programs built beside it. Each bench is build/bench-NAME and prints one
# JSON object with --json. They are not part of make test: a busy machine would decide it.

BENCHES := station

bench: bench-programs ## measure speed, system calls, memory and start-up (about 2 minutes, on a quiet machine)
	@for b in $(BENCHES); do echo "$$b:"; $(BUILD)/bench-$$b || exit 1; done

bench-programs: all $(BENCHES:%=$(BUILD)/bench-%) $(BUILD)/bench/bare $(BUILD)/bench/count.so

$(BUILD)/bench-station: tests/bench/station.c tests/bench/rig.c tests/bench/calls.c tests/bench/rig.h
	@mkdir -p $(@D)
	$(call say,LINK,$@)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(CFLAGS) -o $@ $(filter %.c,$^)

$(BUILD)/bench/bare: tests/bench/bare.c
	@mkdir -p $(@D)
	$(call say,LINK,$@)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(PKG_CFLAGS) $(CFLAGS) -o $@ $< $(PKG_LIBS) -lm

$(BUILD)/bench/count.so: tests/bench/count.c
	@mkdir -p $(@D)
	$(call say,LINK,$@)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(CFLAGS) -fPIC -shared -o $@ $<

.PHONY: bench bench-programs
