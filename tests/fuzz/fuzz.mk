# make fuzz: every reader of foreign bytes under libFuzzer and the sanitizers, from the seeds in tests/fuzz/seeds and what
# earlier runs found (in $(BUILD)/fuzz/corpus). FUZZ_SECONDS is for each target; `make test` gives each a few. An input
# that breaks something is kept as $(BUILD)/fuzz/NAME-...: it becomes a seed with its mend.

FUZZ_CC      ?= clang
FUZZ_SECONDS ?= 60
FUZZ_SAN     := -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
FUZZ_SRC     := $(wildcard tests/fuzz/fuzz_*.c)
FUZZ_BIN     := $(FUZZ_SRC:tests/fuzz/%.c=$(BUILD)/fuzz/%)
FUZZ_LIB_SRC := $(foreach r,core files screen store station,$(wildcard src/$(r)/*.c)) $(wildcard drivers/*.c) src/plant/verb.c
FUZZ_LIB     := $(BUILD)/fuzz/libfuzzed.a
FUZZ_OBJ     := $(FUZZ_LIB_SRC:%.c=$(BUILD)/fuzz/%.o)
TEST_TARGETS += fuzz-short

fuzz: $(FUZZ_BIN) ## fuzz every reader of foreign bytes (FUZZ_SECONDS=60 each)
	@bad=0; for f in $(FUZZ_BIN:$(BUILD)/fuzz/%=%); do \
	    CHECK_SECONDS=$$(( $(FUZZ_SECONDS) + 120 )) tests/check fuzz/$$f tests/fuzz/run.sh $$f $(FUZZ_SECONDS) || bad=1; \
	    done; exit $$bad

fuzz-short:
	+@$(MAKE) fuzz FUZZ_SECONDS=3

$(FUZZ_BIN): $(BUILD)/fuzz/%: $(BUILD)/fuzz/tests/fuzz/%.o $(FUZZ_LIB)
	$(call say,LINK,$@)
	$(Q)$(FUZZ_CC) $(FUZZ_SAN) -fsanitize=fuzzer -o $@ $< $(FUZZ_LIB) $(PKG_LIBS) -lm

$(FUZZ_LIB): $(FUZZ_OBJ)
	$(Q)rm -f $@ && $(AR) rcs $@ $(FUZZ_OBJ)

$(BUILD)/fuzz/%.o: %.c $(BUILD)/flags
	@mkdir -p $(@D)
	$(call say,FUZZ-CC,$<)
	$(Q)$(FUZZ_CC) $(STD) $(WARN) $(CPPFLAGS) $(PKG_CFLAGS) $(FUZZ_SAN) -fsanitize=fuzzer-no-link -MMD -MP -c -o $@ $<

-include $(FUZZ_OBJ:.o=.d) $(FUZZ_BIN:$(BUILD)/fuzz/%=$(BUILD)/fuzz/tests/fuzz/%.d)

.PHONY: fuzz fuzz-short
.SECONDARY: $(FUZZ_BIN:$(BUILD)/fuzz/%=$(BUILD)/fuzz/tests/fuzz/%.o)
