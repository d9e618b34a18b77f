# make faults: the long campaigns; each area adds its own target to FAULT_TARGETS.
faults: ## the long fault campaigns: kills, power cuts, line noise (minutes)
	+@$(MAKE) $(FAULT_TARGETS)

.PHONY: faults
