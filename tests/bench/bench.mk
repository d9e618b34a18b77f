# make bench: what the program costs, against bare programs built beside it. Each bench is build/bench-NAME and prints one
# JSON object with --json. They are not part of make test: a busy machine would decide it.

BENCHES := station pour line

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

# The physical bench: core against a simulated platform and hand. Not in $(LIB)'s test build: it wants its speed.
POUR_SRC := $(wildcard tests/bench/pour/*.c)
POUR_OBJ := $(POUR_SRC:%.c=$(BUILD)/obj/%.o)
WEIGHINGS ?= 100000
SEED      ?= 100

$(BUILD)/bench-pour: $(POUR_OBJ) $(LIB)
	$(call say,LINK,$@)
	$(Q)$(CC) $(CFLAGS) $(SAN) $(LDFLAGS) -o $@ $(POUR_OBJ) $(LIB) -lpthread -lm

bench-pour: $(BUILD)/bench-pour ## settling, over-weighs and false accepts against a simulated platform (WEIGHINGS=100000 SEED=100)
	@$(BUILD)/bench-pour --weighings $(WEIGHINGS) --seed $(SEED)

-include $(POUR_OBJ:.o=.d)

.PHONY: bench bench-programs bench-pour
