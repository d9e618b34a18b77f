# make pretend: the pretend scale as a program, on a real pseudo-terminal.

TEST_TARGETS += pretend

pretend: all ## run the tests of the pretend scale (pace, verbs, keys, unplugging)
	@CHECK_SECONDS=240 tests/check e2e/pretend tests/e2e/test_pretend.py

.PHONY: pretend
