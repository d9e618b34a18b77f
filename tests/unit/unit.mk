# make unit: every tests/unit/test_*.c and tests/published/test_*.c, built with the address and undefined-behaviour
# sanitizers against a sanitized library of its own, and run. A test may #include a .c under test: the linker then takes
# the test's own copy.

UNIT_SAN  := -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
UNIT_SRC  := $(wildcard tests/unit/test_*.c tests/published/test_*.c)
UNIT_BIN  := $(UNIT_SRC:%.c=$(BUILD)/san/%)
# UNIT names tests without test_ and .c, * allowed; one that is not there is an error
UNIT_RUN  := $(if $(UNIT),$(foreach u,$(UNIT),$(or $(patsubst %.c,$(BUILD)/san/%,$(wildcard \
    tests/unit/test_$(u).c tests/published/test_$(u).c)),no-unit-test-named-$(u))),$(UNIT_BIN))
UNIT_LIB  := $(BUILD)/san/libtareline.a
UNIT_OBJ  := $(LIB_SRC:%.c=$(BUILD)/san/%.o)
TEST_TARGETS += unit

unit: $(UNIT_RUN) ## run the unit tests under the sanitizers (UNIT="mass seq*": only these)
	@bad=0; for t in $(UNIT_RUN:$(BUILD)/san/tests/%=%); do \
	    tests/check $$t $(BUILD)/san/tests/$$t || bad=1; done; exit $$bad

$(UNIT_BIN): %: %.o $(UNIT_LIB)
	$(call say,LINK,$@)
	$(Q)$(CC) $(UNIT_SAN) $(LDFLAGS) -o $@ $(filter %.o,$^) $(UNIT_LIB) $(PKG_LIBS) -lcmocka -lgmp -lm

# The bench that the tests of the sequence share.
$(filter $(BUILD)/san/tests/unit/test_sequence_%,$(UNIT_BIN)): $(BUILD)/san/tests/unit/seq_bench.o \
    $(BUILD)/san/tests/unit/seq_hand.o

$(UNIT_LIB): $(UNIT_OBJ)
	$(Q)mkdir -p $(@D) && rm -f $@ && $(AR) rcs $@ $(UNIT_OBJ)

$(BUILD)/san/%.o: %.c $(BUILD)/flags
	@mkdir -p $(@D)
	$(call say,CC,$<)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(PKG_CFLAGS) $(UNIT_SAN) -MMD -MP -c -o $@ $<

-include $(UNIT_OBJ:.o=.d) $(UNIT_BIN:%=%.d) $(wildcard $(BUILD)/san/tests/unit/seq_*.d)

.PHONY: unit
.SECONDARY: $(UNIT_BIN:%=%.o)
