# Tareline. `make demo` shows the main job, `make test` checks it, `make help` lists the rest.
# Every area of tests brings its own rules in tests/AREA/AREA.mk.

CC      ?= gcc
BUILD   ?= build
PREFIX  ?= /usr/local
SAN     ?=
V       ?= 0
Q       := $(if $(filter 1,$(V)),,@)
say      = $(if $(filter 1,$(V)),,@printf '  %-8s %s\n' $(1) $(2))

PKGS    := libserialport ncursesw sqlite3 libsodium inih
WARN    := -Wall -Wextra -Wconversion -Wshadow -Werror
CPPFLAGS += -Isrc -I. -D_GNU_SOURCE -DTARELINE_PREFIX='"$(PREFIX)"'
CFLAGS  ?= -O2 -g
STD     := -std=c11
PKG_CFLAGS = $(shell pkg-config --cflags $(PKGS))
PKG_LIBS   = $(shell pkg-config --libs $(PKGS))

ROOMS   := core files store station screen report plant
LIB_SRC := $(foreach r,$(ROOMS),$(wildcard src/$(r)/*.c)) $(wildcard drivers/*.c)
CLI_SRC := $(wildcard src/cli/*.c)
LIB_OBJ := $(LIB_SRC:%.c=$(BUILD)/obj/%.o)
CLI_OBJ := $(CLI_SRC:%.c=$(BUILD)/obj/%.o)
LIB     := $(BUILD)/libtareline.a

all: $(BUILD)/tareline

$(BUILD)/tareline: $(CLI_OBJ) $(LIB)
	$(call say,LINK,$@)
	$(Q)$(CC) $(CFLAGS) $(SAN) $(LDFLAGS) -o $@ $(CLI_OBJ) $(LIB) $(PKG_LIBS) -lm

$(LIB): $(LIB_OBJ)
	$(call say,AR,$@)
	$(Q)rm -f $@ && $(AR) rcs $@ $(LIB_OBJ)

$(BUILD)/obj/%.o: %.c
	@mkdir -p $(@D)
	$(call say,CC,$<)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(PKG_CFLAGS) $(CFLAGS) $(SAN) -MMD -MP -c -o $@ $<

-include $(LIB_OBJ:.o=.d) $(CLI_OBJ:.o=.d)
include $(wildcard tests/*/*.mk)

clean:
	rm -rf $(BUILD)

.PHONY: all clean
