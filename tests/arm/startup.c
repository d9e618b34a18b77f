/* From reset to main on a bare Cortex-M3: vectors, .data, .bss. */
#include <stdint.h>

extern uint32_t data_start[], data_end[], data_load[], bss_start[], bss_end[], stack_top[];
int main(void);
void reset(void);
void fault(void);

void reset(void)
{
    uint32_t *from = data_load;
    for (uint32_t *to = data_start; to < data_end;)
        *to++ = *from++;
    for (uint32_t *to = bss_start; to < bss_end;)
        *to++ = 0;
    main();
    fault();
}

void fault(void)
{
    for (;;)
        ;
}

/* Initial stack, then the handlers of reset, NMI and the faults (ARMv7-M Architecture Reference Manual, B1.5.3). */
__attribute__((section(".vectors"), used)) static const void *const vectors[16] = {
    stack_top,           (const void *)reset, (const void *)fault, (const void *)fault,
    (const void *)fault, (const void *)fault, (const void *)fault,
};
