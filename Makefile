# Tareline. `make demo` shows the main job, `make test` checks it, `make help` lists the rest.
# Every area of tests brings its own rules in tests/AREA/AREA.mk, adds what `make test` shall run to TEST_TARGETS, and has
# each test program or script run by tests/check, which counts it.

CC      ?= gcc
BUILD   ?= build
PREFIX  ?= /usr/local
DESTDIR ?=
SAN     ?=
V       ?= 0
JOBS    ?= $(shell nproc)
Q       := $(if $(filter 1,$(V)),,@)
say      = $(if $(filter 1,$(V)),,@printf '  %-8s %s\n' $(1) $(2))
MAKEFLAGS += --no-print-directory
# Sub-makes share the jobs that were asked for with -j, or use as many as there are processors.
jobs     = $(if $(findstring jobserver,$(MAKEFLAGS)),,-j$(JOBS))
export BUILD

PKGS    := libserialport hidapi-hidraw libmodbus ncursesw sqlite3 libsodium inih
WARN    := -Wall -Wextra -Wconversion -Wshadow -Werror
CPPFLAGS += -Isrc -I. -D_GNU_SOURCE -DTARELINE_PREFIX='"$(PREFIX)"'
CFLAGS  ?= -O2 -g
STD     := -std=c11
PKG_CFLAGS := $(shell pkg-config --cflags $(PKGS) 2>/dev/null)
PKG_LIBS   := $(shell pkg-config --libs $(PKGS) 2>/dev/null)

ROOMS   := core files store station screen report plant
LIB_SRC := $(foreach r,$(ROOMS),$(wildcard src/$(r)/*.c)) $(wildcard drivers/*.c)
CLI_SRC := $(wildcard src/cli/*.c)
LIB_OBJ := $(LIB_SRC:%.c=$(BUILD)/obj/%.o)
CLI_OBJ := $(CLI_SRC:%.c=$(BUILD)/obj/%.o)
LIB     := $(BUILD)/libtareline.a

all: $(BUILD)/tareline ## build the program (needs the build packages: make deps)

$(BUILD)/tareline: $(CLI_OBJ) $(LIB)
	$(call say,LINK,$@)
	$(Q)$(CC) $(CFLAGS) $(SAN) $(LDFLAGS) -o $@ $(CLI_OBJ) $(LIB) $(PKG_LIBS) -lm

$(LIB): $(LIB_OBJ)
	$(call say,AR,$@)
	$(Q)rm -f $@ && $(AR) rcs $@ $(LIB_OBJ)

$(BUILD)/obj/%.o: %.c $(BUILD)/flags
	@mkdir -p $(@D)
	$(call say,CC,$<)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(PKG_CFLAGS) $(CFLAGS) $(SAN) -MMD -MP -c -o $@ $<

# Changes only when the flags do: `make CFLAGS=... PREFIX=...` never leaves an object of the old kind.
$(BUILD)/flags: FORCE
	$(if $(PKG_LIBS),,@echo "build: libraries to build with are missing; 'make deps' installs them" >&2; exit 1)
	@mkdir -p $(@D)
	@printf '%s\n' '$(subst ','\'',$(CC) $(CPPFLAGS) $(PKG_CFLAGS) $(CFLAGS) $(SAN))' | cmp -s - $@ || \
	    printf '%s\n' '$(subst ','\'',$(CC) $(CPPFLAGS) $(PKG_CFLAGS) $(CFLAGS) $(SAN))' >$@

-include $(LIB_OBJ:.o=.d) $(CLI_OBJ:.o=.d)
TEST_TARGETS :=
include $(wildcard tests/*/*.mk)

test: ## run every test; ends with "N passed, N failed"
	@.ci/deps
	+@TEST_MAKE='$(MAKE) $(jobs)' tests/all $(TEST_TARGETS)

# A make of its own after the packages are there: this one has already asked pkg-config.
demo: ## weigh the smokehouse's batch with two pretend scales (by you on a terminal, else by a simulated operator)
	@.ci/deps build
	+@$(MAKE) $(jobs) demo-run

deps: ## install what is missing to build and test (apt-get, as root or by sudo)
	@.ci/deps

install: all ## install the program, profiles and docs under $(DESTDIR)$(PREFIX)
	install -D -m 755 $(BUILD)/tareline $(DESTDIR)$(PREFIX)/bin/tareline
	@for f in $$(find profiles -type f -name '*.ini'); do \
	    install -D -m 644 $$f $(DESTDIR)$(PREFIX)/share/tareline/$${f#profiles/} || exit 1; done
	@for f in README.md DEVELOPERS.md LICENSE $$(find docs -type f); do \
	    install -D -m 644 $$f $(DESTDIR)$(PREFIX)/share/doc/tareline/$$f || exit 1; done

help: ## print this list
	@awk -F ':.*## ' '/^[a-z0-9-]+:.*## / { printf "  make %-10s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

clean: ## remove the build folder
	rm -rf $(BUILD)

FORCE:
.PHONY: all test demo demo-run deps install help clean FORCE
