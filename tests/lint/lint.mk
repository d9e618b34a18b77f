# make lint: what is said about the code itself. Each source is checked again only when it, its headers or the rules change.

LINT_SRC ?= $(LIB_SRC) $(CLI_SRC)
LINT_HDR ?= $(wildcard src/*/*.h drivers/*.h)
LINT_ALL := $(shell find src drivers tests -name '*.[ch]')
CORE_SRC := $(wildcard src/core/*.c)
LINTS    := layers format headers core tidy cppcheck
TEST_TARGETS += lint

# The rules themselves are tested too: each must go red on a deliberate violation.
lint: ## check the layering, layout, headers, core's objects, clang-tidy and cppcheck
	+@bad=0; for l in $(LINTS); do \
	    CHECK_SECONDS=1500 tests/check lint/$$l $(MAKE) -k $(jobs) lint-$$l || bad=1; done; \
	    tests/check lint/selftest tests/lint/selftest.py || bad=1; exit $$bad

lint-layers:
	@tests/lint/layers.py

lint-format: $(BUILD)/lint/format.ok
$(BUILD)/lint/format.ok: $(LINT_ALL) .clang-format
	@mkdir -p $(@D)
	$(Q)clang-format --dry-run -Werror $(LINT_ALL)
	@touch $@

# Twice: the guard works as well.
lint-headers: $(LINT_HDR:%=$(BUILD)/lint/%.ok)
$(BUILD)/lint/%.h.ok: %.h
	@mkdir -p $(@D)
	$(Q)printf '#include "%s"\n#include "%s"\n' $(patsubst src/%,%,$<) $(patsubst src/%,%,$<) | \
	    $(CC) $(STD) $(WARN) -Wno-unused-function $(CPPFLAGS) $(PKG_CFLAGS) -MMD -MP -MF $(@:.ok=.d) -MT $@ -c -x c -o /dev/null -
	@touch $@

lint-core: $(CORE_SRC:%.c=$(BUILD)/obj/%.o) $(CORE_SRC:%.c=$(BUILD)/arm/%.o)
	@tests/lint/core-objects.sh nm $(CORE_SRC:%.c=$(BUILD)/obj/%.o)
	@tests/lint/core-objects.sh arm-none-eabi-nm $(CORE_SRC:%.c=$(BUILD)/arm/%.o)

# The object stands for all headers that the source includes.
lint-tidy: $(LINT_SRC:%.c=$(BUILD)/lint/%.tidy)
$(BUILD)/lint/%.tidy: %.c $(BUILD)/obj/%.o .clang-tidy
	@mkdir -p $(@D)
	$(Q)tests/lint/tidy.sh $< $(STD) $(CPPFLAGS) $(PKG_CFLAGS)
	@touch $@

# cppcheck remembers by itself, in its build folder, what has not changed.
lint-cppcheck: $(BUILD)/lint/cppcheck.ok
$(BUILD)/lint/cppcheck.ok: $(LINT_SRC:%.c=$(BUILD)/obj/%.o) tests/lint/cppcheck.txt
	@mkdir -p $(BUILD)/lint/cppcheck
	$(Q)cppcheck -q -j $(JOBS) --std=c11 --enable=warning,portability,performance --inline-suppr --error-exitcode=1 \
	    --suppressions-list=tests/lint/cppcheck.txt --cppcheck-build-dir=$(BUILD)/lint/cppcheck $(CPPFLAGS) $(LINT_SRC)
	@touch $@

-include $(LINT_HDR:%.h=$(BUILD)/lint/%.h.d)

.PHONY: lint $(LINTS:%=lint-%)
