# make powercut: the power goes, or the disk fails, at every POWERCUT_STEP-th write or sync of a journal's life.
# make faults: at every single one, with several seeds.

POWERCUT_STEP  ?= 61
POWERCUT_SEEDS ?= 1 2 3
POWERCUT_OBJ   := $(patsubst %,$(BUILD)/obj/tests/faults/%.o,powercut cut_vfs)

$(BUILD)/powercut: $(POWERCUT_OBJ) $(LIB)
	$(call say,LINK,$@)
	$(Q)$(CC) $(CFLAGS) $(SAN) $(LDFLAGS) -Wl,--wrap=rename,--wrap=fsync,--wrap=unlink -o $@ $^ $(PKG_LIBS) -lm

powercut: $(BUILD)/powercut ## cut the power under the journal, at a sample of its writes
	@tests/check faults/powercut $< $(POWERCUT_STEP)

faults-powercut: $(BUILD)/powercut
	@for seed in $(POWERCUT_SEEDS); do \
	    CHECK_SECONDS=3600 tests/check faults/powercut-$$seed $< 1 $$seed || exit 1; done

-include $(POWERCUT_OBJ:.o=.d)
TEST_TARGETS += powercut
FAULT_TARGETS += faults-powercut
.PHONY: powercut faults-powercut
