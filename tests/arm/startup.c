/* From reset to main on a bare Cortex-M3: vectors, .data, .bss. */
#include <stddef.h>
#include <stdint.h>

extern uint32_t data_start[], data_end[], data_load[], bss_start[], bss_end[], stack_top[];
int main(void);
void reset(void);
void fault(void);
void *memcpy(void *to, const void *from, size_t n);
void *memmove(void *to, const void *from, size_t n);
void *memset(void *to, int byte, size_t n);

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

/* The C library's are made for speed and cost 600 bytes. The compiler must not make calls to themselves of them. */
#define AS_WRITTEN __attribute__((used, optimize("no-tree-loop-distribute-patterns")))

AS_WRITTEN void *memmove(void *to, const void *from, size_t n)
{
    unsigned char *t = to;
    const unsigned char *f = from;
    if (t < f) {
        while (n--)
            *t++ = *f++;
    } else {
        while (n--)
            t[n] = f[n];
    }
    return to;
}

AS_WRITTEN void *memcpy(void *to, const void *from, size_t n)
{
    return memmove(to, from, n);
}

AS_WRITTEN void *memset(void *to, int byte, size_t n)
{
    unsigned char *t = to;
    while (n--)
        *t++ = (unsigned char)byte;
    return to;
}

/* Initial stack, then the handlers of reset, NMI and the faults (ARMv7-M Architecture Reference Manual, B1.5.3). */
__attribute__((section(".vectors"), used)) static const void *const vectors[16] = {
    stack_top,           (const void *)reset, (const void *)fault, (const void *)fault,
    (const void *)fault, (const void *)fault, (const void *)fault,
};
