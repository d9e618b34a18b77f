/* Semihosting for AArch32, 2.0: SYS_WRITE0 0x04, SYS_EXIT_EXTENDED 0x20, reason ADP_Stopped_ApplicationExit 0x20026. */
#include <stdint.h>

#include "tests/arm/say.h"

static void semihost(uint32_t operation, const void *argument)
{
    register uint32_t r0 __asm__("r0") = operation;
    register const void *r1 __asm__("r1") = argument;
    __asm__ volatile("bkpt 0xab" : "+r"(r0) : "r"(r1) : "memory");
}

void say_text(const char *text)
{
    semihost(0x04, text);
}

void say_end(int code)
{
    const uint32_t block[2] = {0x20026, (uint32_t)code};
    semihost(0x20, block);
}
