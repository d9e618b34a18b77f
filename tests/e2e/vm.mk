# make vm: the serial port path on a true /dev/ttyUSB0, in a small virtual machine under software emulation.

VM_TESTS := port weigh hid
TEST_TARGETS += vm

vm: $(BUILD)/vm-port $(BUILD)/vm/initramfs all ## run the tests in the small virtual machine (USB serial adaptor, unplugging)
	@bad=0; for t in $(VM_TESTS); do \
	    CHECK_SECONDS=420 tests/check vm/$$t tests/e2e/vm/$$t.py || bad=1; done; exit $$bad

$(BUILD)/vm/initramfs: tests/e2e/vm/vm.py tests/e2e/vm/init
	$(call say,KERNEL,$@)
	@tests/e2e/vm/vm.py --prepare

$(BUILD)/vm-port: tests/e2e/vm/port.c $(LIB)
	$(call say,LINK,$@)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(CFLAGS) -o $@ $< $(LIB) $(PKG_LIBS) -lm

.PHONY: vm
