/* Prove: see prove.h. */
#include <poll.h>
#include <string.h>

#include "station/inside.h"
#include "station/prove.h"

#define LISTEN_US 3000000 /* to what stands on them */
#define WAIT_US 60000000  /* for a person */
#define OTHERS_US 1000000 /* after the first has moved: does another one too? */

static void open_all(struct prove *p, FILE *to)
{
    uint64_t now = clock_monotonic_us();
    for (unsigned i = 0; i < p->count; i++) {
        struct feeder *f = &p->feeders[i];
        p->heard[i] = p->moved[i] = false;
        if (!feeder_init(f, p->profile, p->devices[i]) || p->taken[i])
            continue;
        if (feeder_open(f, now) != DRIVER_OK)
            fprintf(to, "  %s is left out: %s\n", p->devices[i], f->why);
    }
}

static void take(struct prove *p, unsigned i, struct feeder_bytes *b)
{
    enum decode_result got;
    struct reading r;
    while ((got = feeder_take(&p->feeders[i].line, b, &r)) != DECODE_MORE) {
        if (got != DECODE_READING || !reading_has_weight(&r))
            continue;
        if (!p->heard[i])
            p->first[i] = r.mass;
        p->heard[i] = true;
        mass_pg off = r.mass > p->first[i] ? r.mass - p->first[i] : p->first[i] - r.mass;
        p->moved[i] = p->moved[i] || off / PROVE_STEPS >= r.step;
    }
}

static void listen_until(struct prove *p, uint64_t until)
{
    struct pollfd fds[PROVE_MOST];
    uint64_t next = until, now = clock_monotonic_us();
    struct feeder_bytes bytes;
    sigset_t none;
    for (unsigned i = 0; i < p->count; i++) {
        uint64_t wake = p->feeders[i].up ? feeder_wake(&p->feeders[i]) : 0;
        fds[i] = (struct pollfd){.fd = -1};
        if (p->feeders[i].up)
            feeder_watch(&p->feeders[i], &fds[i].fd, &fds[i].events);
        next = wake && wake < next ? wake : next;
    }
    uint64_t left = next > now ? next - now : 0;
    const struct timespec t = {.tv_sec = (time_t)(left / 1000000), .tv_nsec = (long)(left % 1000000) * 1000};
    sigemptyset(&none);
    int n = ppoll(fds, p->count, &t, &none);
    now = clock_monotonic_us();
    for (unsigned i = 0; i < p->count; i++)
        if (p->feeders[i].up && feeder_read(&p->feeders[i], n > 0 ? fds[i].revents : 0, now, &bytes) == FEEDER_BYTES)
            take(p, i, &bytes);
}

static unsigned count(const struct prove *p, const bool *which)
{
    unsigned n = 0;
    for (unsigned i = 0; i < p->count; i++)
        n += which[i];
    return n;
}

static void listen_for(struct prove *p, uint64_t us, bool till_one_moves, const volatile sig_atomic_t *stop)
{
    uint64_t until = clock_monotonic_us() + us;
    while (!*stop && clock_monotonic_us() < until && !(till_one_moves && count(p, p->moved)))
        listen_until(p, until);
}

static enum prove_end judge(struct prove *p, const volatile sig_atomic_t *stop)
{
    unsigned moved = count(p, p->moved);
    if (*stop)
        return PROVE_STOPPED;
    if (moved != 1)
        return moved ? PROVE_SEVERAL : PROVE_NONE;
    for (p->found = 0; !p->moved[p->found];)
        p->found++;
    return PROVE_FOUND;
}

enum prove_end prove_run(struct prove *p, void (*ready)(void *), void *user, FILE *to,
                         const volatile sig_atomic_t *stop)
{
    enum prove_end end = PROVE_DEAF;
    open_all(p, to);
    listen_for(p, LISTEN_US, false, stop);
    if (count(p, p->heard)) {
        memset(p->moved, 0, sizeof p->moved); /* what moved before it was asked for proves nothing, */
        memset(p->heard, 0, sizeof p->heard); /* and what stands there now is what it starts from */
        ready(user);
        listen_for(p, WAIT_US, true, stop);
        if (count(p, p->moved))
            listen_for(p, OTHERS_US, false, stop);
        end = judge(p, stop);
    }
    for (unsigned i = 0; i < p->count; i++)
        feeder_close(&p->feeders[i]);
    return *stop ? PROVE_STOPPED : end;
}
