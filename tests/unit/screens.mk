# The golden screens of tests/unit/test_layout.c. A commit that changes one says why the new picture is right.

golden: $(BUILD)/san/tests/unit/test_layout ## draw the golden screens in tests/unit/screens anew
	@mkdir -p tests/unit/screens
	$(Q)TARELINE_GOLDEN=rebuild $<

.PHONY: golden

# Shows the made-up scenes on this terminal; its head says how.
$(BUILD)/screen-demo: tests/e2e/screen_demo.c tests/unit/scenes.h $(LIB)
	$(call say,LINK,$@)
	$(Q)$(CC) $(STD) $(WARN) $(CPPFLAGS) $(PKG_CFLAGS) $(CFLAGS) -o $@ $< $(LIB) $(PKG_LIBS)

# Two whole sessions, about two minutes.
screens: $(BUILD)/tareline ## draw docs/screens.md anew from sessions at the full screen
	$(Q)TARELINE=$(BUILD)/tareline tests/e2e/screens_page.py

.PHONY: screens
