# make core-arm: core for a bare Cortex-M3, its size and stack. make replay-arm: the same results there as on the host.

ARM       := arm-none-eabi-
ARM_CAP   := -DCAP_ITEMS=16 -DCAP_SCALES=1 -DCAP_INGREDIENTS=12 -DCAP_STEPS=8 -DPROFILE_WORDS=12 -DPROFILE_BITS=16 -DPROFILE_BLOCKS=0 -DFLOW_CUE=0 -DEARLY_YES=0 -DCAP_LANGS=1
# What -Os still does for speed, at a cost in bytes.
ARM_SMALL := -fno-ivopts -fno-if-conversion -fno-tree-loop-im -fno-schedule-insns2 -fno-tree-sra -fno-caller-saves -fno-tree-vrp -fno-tree-forwprop -fno-tree-tail-merge -fno-tree-loop-optimize -fno-tree-dominator-opts -fno-code-hoisting -fno-tree-pta -fno-ipa-modref -fno-tree-ccp
ARM_CPU   := -mcpu=cortex-m3 -mthumb
ARM_FLAGS := $(ARM_CPU) -Os -g $(ARM_SMALL) -ffreestanding -ffunction-sections -fdata-sections -fcallgraph-info=su $(ARM_CAP)
ARM_SRC   := $(wildcard src/core/*.c)
ARM_OBJ   := $(ARM_SRC:%.c=$(BUILD)/arm/%.o)
ARM_LD    := $(ARM_CPU) -nostartfiles -T tests/arm/board.ld -Wl,--fatal-warnings
REPLAY    := $(addprefix tests/arm/,main.c numbers.c batch.c vectors.c recording.c)
RECORDINGS := $(BUILD)/arm/recordings
REPLAY_ARM := $(patsubst %.c,$(BUILD)/arm/%.o,$(REPLAY) tests/arm/startup.c tests/arm/say_target.c) $(RECORDINGS).o
REPLAY_SRC := $(REPLAY) $(RECORDINGS).c tests/arm/say_host.c $(ARM_SRC)
BOARD_OBJ := $(patsubst %.c,$(BUILD)/arm/%.o,tests/arm/vectors.c tests/arm/startup.c)
TEST_TARGETS += core-arm-counted replay-arm

replay-arm: $(BUILD)/arm/replay.elf $(BUILD)/arm/replay-host $(BUILD)/arm/replay-small ## core's vectors on an emulated Cortex-M3
	@tests/check arm/replay tests/arm/replay.sh $^

$(BUILD)/arm/replay.elf: $(REPLAY_ARM) $(ARM_OBJ) tests/arm/board.ld
	$(call say,ARM-LD,$@)
	$(Q)$(ARM)gcc $(ARM_LD) -o $@ $(filter %.o,$^)

$(BUILD)/arm/replay-host $(BUILD)/arm/replay-small: $(REPLAY_SRC) $(wildcard src/core/*.h tests/arm/*.h)
	@mkdir -p $(@D)
	$(call say,LINK,$@)
	$(Q)$(CC) $(STD) $(WARN) -O1 -g -Isrc -I. $(if $(filter %small,$@),$(ARM_CAP)) -o $@ $(filter %.c,$^)

# The recordings of scales whose profiles fit the small board, as constants.
cap_of = $(patsubst -D$1=%,%,$(filter -D$1=%,$(ARM_CAP)))

$(RECORDINGS).c: tests/arm/arm.mk $(BUILD)/arm/write-recordings $(wildcard tests/replay/*.log tests/replay/*.check profiles/scales/*.ini)
	$(Q)$(BUILD)/arm/write-recordings $(call cap_of,PROFILE_WORDS) $(call cap_of,PROFILE_BITS) $(call cap_of,PROFILE_BLOCKS) >$@ 2>$(RECORDINGS).left

$(RECORDINGS).o: $(RECORDINGS).c tests/arm/arm.mk
	$(Q)$(ARM)gcc $(STD) $(WARN) -Isrc -I. $(ARM_FLAGS) -c -o $@ $<

$(BUILD)/arm/write-recordings: tests/arm/write_recordings.c tests/arm/recording.c tests/replay/load.c $(BUILD)/libtareline.a
	@mkdir -p $(@D)
	$(call say,LINK,$@)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(CFLAGS) -o $@ $^ $(PKG_LIBS) -lm

core-arm: $(BUILD)/arm/board.elf $(BUILD)/arm/whole.elf ## flash, RAM and stack of core on a Cortex-M3
	@CAPS="$(ARM_CAP:-D%=%)" tests/arm/size.sh $^ $(ARM_OBJ:.o=.ci)

core-arm-counted:
	+@tests/check arm/core $(MAKE) core-arm

# Only what a station calls; then all of core, with nothing thrown away.
$(BUILD)/arm/board.elf: $(BUILD)/arm/tests/arm/board.o $(BOARD_OBJ) $(ARM_OBJ) tests/arm/board.ld
	$(call say,ARM-LD,$@)
	$(Q)$(ARM)gcc $(ARM_LD) -Wl,--gc-sections -o $@ $(filter %.o,$^)
$(BUILD)/arm/whole.elf: $(BUILD)/arm/tests/arm/board.o $(BOARD_OBJ) $(ARM_OBJ) tests/arm/board.ld
	$(call say,ARM-LD,$@)
	$(Q)$(ARM)gcc $(ARM_LD) -o $@ $(filter %.o,$^)

$(BUILD)/arm/%.o: %.c tests/arm/arm.mk
	@mkdir -p $(@D)
	$(call say,ARM-CC,$<)
	$(Q)$(ARM)gcc $(STD) $(WARN) -Isrc -I. $(ARM_FLAGS) -MMD -MP -c -o $@ $<

-include $(ARM_OBJ:.o=.d) $(REPLAY_ARM:.o=.d)

.PHONY: core-arm core-arm-counted replay-arm
