# make replay: the recordings of scales through decode, under the sanitizers. make record makes them anew (a minute).

TEST_TARGETS += replay

replay: $(BUILD)/san/tests/replay/replay ## play every scale's recording and compare with what truly stood on it
	@tests/check replay $(BUILD)/san/tests/replay/replay

record: all
	@tests/replay/record.py
	@tests/replay/record_blocks.py

$(BUILD)/san/tests/replay/replay: %: %.o $(BUILD)/san/tests/replay/load.o $(BUILD)/san/libtareline.a
	$(call say,LINK,$@)
	$(Q)$(CC) $(UNIT_SAN) $(LDFLAGS) -o $@ $(filter %.o,$^) $(UNIT_LIB) $(PKG_LIBS) -lm

-include $(BUILD)/san/tests/replay/replay.d $(BUILD)/san/tests/replay/load.d
.PHONY: replay record
