# make install-check: what `make install` puts down works on its own, away from the tree.

TEST_TARGETS += install-check

install-check: all
	+@rm -rf $(BUILD)/install && $(MAKE) -s install DESTDIR=$(BUILD)/install >/dev/null
	@tests/check install tests/install/check.sh $(BUILD)/install$(PREFIX)

.PHONY: install-check
