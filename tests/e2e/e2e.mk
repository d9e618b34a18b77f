# make e2e: every tests/e2e/test_* runs the built program from outside, on pseudo-terminals of its own.

E2E := $(wildcard tests/e2e/test_*)
TEST_TARGETS += e2e

e2e: all ## run the program from outside (E2E=tests/e2e/test_listen.py: only that)
	@bad=0; for t in $(E2E); do n=$${t##*/}; tests/check e2e/$${n%.*} $$t || bad=1; done; exit $$bad

.PHONY: e2e
