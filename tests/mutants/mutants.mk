# make mutants: each guard of an invariant is taken out in turn; a named test must go red. MUTANT="name..." for some.

mutants: ## take each guard out of the code and see its test go red (tests/mutants.list; MUTANT="name": only it)
	@tests/mutants/run.py $(MUTANT)

mutants-fit:
	@tests/check mutants/fit tests/mutants/run.py --fits

TEST_TARGETS += mutants-fit
.PHONY: mutants mutants-fit
