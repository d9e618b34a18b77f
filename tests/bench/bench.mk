# make bench: what the program costs, against bare programs built beside it. Each bench is build/bench-NAME and prints one
# JSON object with --json. They are not part of make test: a busy machine would decide it.

BENCHES := station pour line

bench: bench-programs ## measure speed, system calls, memory and start-up (about 2 minutes, on a quiet machine)
	@for b in $(BENCHES); do echo "$$b:"; $(BUILD)/bench-$$b || exit 1; done

bench-programs: all $(BENCHES:%=$(BUILD)/bench-%)

# It runs the three behind the bar.
$(BUILD)/bench-station: tests/bench/station.c tests/bench/rig.c tests/bench/calls.c tests/bench/rig.h \
    | $(BUILD)/tareline $(BUILD)/bench/bare $(BUILD)/bench/count.so
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

# The physical bench: core against a simulated platform and hand, a thousand million steps of it, so built for speed and
# across its files.
POUR_SRC := $(wildcard tests/bench/pour/*.c src/plant/*.c src/core/*.c)
POUR_OBJ := $(POUR_SRC:%.c=$(BUILD)/fast/%.o)
POUR_FAST := -O3 -flto=2 -g
WEIGHINGS ?= 100000
SEED      ?= 100

$(BUILD)/bench-pour: $(POUR_OBJ)
	$(call say,LINK,$@)
	$(Q)$(CC) $(STD) $(POUR_FAST) $(LDFLAGS) -o $@ $^ -lpthread -lm

$(BUILD)/fast/%.o: %.c $(BUILD)/flags
	@mkdir -p $(@D)
	$(call say,CC,$<)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(POUR_FAST) $(TUNE) -MMD -MP -c -o $@ $<

bench-pour: $(BUILD)/bench-pour ## settling, over-weighs and false accepts against a simulated platform (WEIGHINGS=100000 SEED=100; PLOTS=1: the pictures of docs/settling.md)
	@$(BUILD)/bench-pour $(if $(PLOTS),--plots docs --weighings 30000,--weighings $(WEIGHINGS)) --seed $(SEED)

# In make test: a short run whose counts must hold; how long it takes decides nothing. And weighings that are interrupted by
# "take everything off": after a hole in the line; under zero, where a person must press the zero key and say that it is empty.
POUR_CLEARED := 300229562 300116399
pour: $(BUILD)/bench-pour
	@tests/check bench/pour $(BUILD)/bench-pour --weighings 1500 --seed 44 --settle-only --strict
	@for seed in $(POUR_CLEARED); do \
	    tests/check bench/pour-$$seed $(BUILD)/bench-pour --only $$seed --strict || exit 1; done

TEST_TARGETS += pour

-include $(POUR_OBJ:.o=.d)

.PHONY: bench bench-programs bench-pour pour
