# make vm: the serial port path on a true /dev/ttyUSB0, in a small virtual machine under software emulation.

VM_TESTS := weigh path hid line port
TEST_TARGETS += vm

vm: $(BUILD)/vm-port $(BUILD)/vm/initramfs all ## run the tests in the small virtual machine (USB serial adaptor, unplugging)
	@printf '%s\n' $(VM_TESTS) | xargs -P 2 -I{} sh -c 'CHECK_SECONDS=420 tests/check vm/{} tests/e2e/vm/{}.py'

$(BUILD)/vm/initramfs: tests/e2e/vm/vm.py tests/e2e/vm/init
	$(call say,KERNEL,$@)
	@tests/e2e/vm/vm.py --prepare

$(BUILD)/vm-port: tests/e2e/vm/port.c $(LIB)
	$(call say,LINK,$@)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(CFLAGS) -o $@ $< $(LIB) $(PKG_LIBS) -lm

.PHONY: vm
