/* How the replay program speaks: standard output on the host, semihosting on the emulated Cortex-M3. */
#ifndef TESTS_ARM_SAY_H
#define TESTS_ARM_SAY_H

void say_text(const char *text);
/* Ends the program; on the target it doesn't return. */
void say_end(int code);

#endif
