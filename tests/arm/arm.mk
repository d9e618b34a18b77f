# make core-arm: core for a bare Cortex-M3.

ARM      := arm-none-eabi-
ARM_CAP  := -DCAP_ITEMS=16 -DCAP_SCALES=1 -DCAP_INGREDIENTS=12 -DCAP_STEPS=8 -DCAP_LANGS=1
ARM_FLAGS := -mcpu=cortex-m3 -mthumb -Os -g -ffreestanding -ffunction-sections -fdata-sections -fcallgraph-info=su $(ARM_CAP)
ARM_SRC  := $(wildcard src/core/*.c)
ARM_OBJ  := $(ARM_SRC:%.c=$(BUILD)/arm/%.o)

$(BUILD)/arm/%.o: %.c tests/arm/arm.mk
	@mkdir -p $(@D)
	$(call say,ARM-CC,$<)
	$(Q)$(ARM)gcc $(STD) $(WARN) -Isrc -I. $(ARM_FLAGS) -MMD -MP -c -o $@ $<

-include $(ARM_OBJ:.o=.d)
