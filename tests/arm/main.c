/* Runs every part and says its count and hash. Built for the host and for the target; their output must be the same. */
#include <stdbool.h>

#include "tests/arm/recordings.h"
#include "tests/arm/replay.h"
#include "tests/arm/say.h"

static void say_number(uint64_t value, unsigned base, unsigned digits)
{
    char text[24];
    unsigned at = sizeof text - 1;
    text[at] = '\0';
    do {
        text[--at] = "0123456789abcdef"[value % base];
        value /= base;
    } while (value || sizeof text - 1 - at < digits);
    say_text(text + at);
}

static void say_part(const char *name, struct part p)
{
    say_text(name);
    say_text(" ");
    say_number(p.count, 10, 1);
    say_text(" ");
    say_number(p.hash, 16, 16);
    say_text("\n");
}

static bool say_recording(const struct recording *r)
{
    struct part p = replay_recording(r);
    say_part(r->name, p);
    return p.hash == r->expected.hash && p.count == r->expected.count;
}

int main(void)
{
    say_part("numbers", replay_numbers());
    say_part("masses", replay_masses());
    say_part("scaling", replay_scaling());
    say_part("batch", replay_batch());
    say_part("items", replay_items());
    say_part("resumed", replay_resumed());
    bool good = true;
    for (const struct recording *r = recordings; r->name; r++)
        good = say_recording(r) && good;
    say_text(good ? "end\n" : "not as recorded\n");
    say_end(!good);
    return 0;
}
