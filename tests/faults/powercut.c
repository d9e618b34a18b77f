/* powercut [STEP [SEED]]: cuts the power at the 1st, 2nd, 3rd ... write or sync of a journal's life (every STEP-th), and
 * makes the disk fail there. After each cut the journal opens, verifies, and is a prefix of what was appended that
 * holds every entry whose append returned STORE_OK; and it can be gone on with. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "cut_vfs.h"
#include "store/store.h"

#define ENTRIES 44
#define BIG 52000 /* some payloads are as long as a kept text, so that the log is copied into the file meanwhile */

static char folder[200], path[256], why[STORE_WHY];
static char payload[BIG + 100];
static long failures, lost;

struct life {
    int told;  /* entries whose append returned STORE_OK */
    int tried; /* entries that were handed over */
    bool failed;
};

static struct entry entry_number(int n)
{
    size_t len = (size_t)snprintf(payload, sizeof payload, "{\"n\":%d,\"fill\":\"", n);
    size_t fill = n % 3 == 1 ? BIG : (size_t)(n * 37 % 300);
    memset(payload + len, 'a' + n % 26, fill);
    snprintf(payload + len + fill, sizeof payload - len - fill, "\"}");
    return (struct entry){.utc_us = INT64_C(1750000000000000) + n,
                          .mono_us = (uint64_t)n,
                          .kind = n == 1 ? "started" : "weighed",
                          .batch = "b1",
                          .person = "ab",
                          .payload = payload};
}

/* Opens, appends up to entry `last`, closes. tries > 1: what the disk refuses is tried again. */
static void live(struct life *l, int last, int tries)
{
    struct store *s = NULL;
    enum store_result r = STORE_SYSTEM;
    for (int t = 0; t < tries && r != STORE_OK; t++)
        r = store_open(&s, path, STORE_WRITE, why);
    l->failed = r != STORE_OK;
    while (!l->failed && l->told < last) {
        struct entry e = entry_number(l->told + 1);
        struct store_head head = {0};
        l->tried = l->told + 1;
        r = STORE_SYSTEM;
        for (int t = 0; t < tries && r != STORE_OK; t++)
            r = store_append(s, &e, &head, why);
        l->failed = r != STORE_OK;
        if (r == STORE_OK)
            l->told = (int)head.seq;
    }
    store_close(s);
}

/* Made, written to, closed (the log goes into the file), opened again, written to until the log has gone round twice. */
static void whole_life(struct life *l, int tries)
{
    *l = (struct life){0};
    live(l, 5, tries);
    if (!l->failed)
        live(l, ENTRIES, tries);
}

static void clean_folder(void)
{
    static const char *const tails[] = {"", "-new", "-wal", "-shm", "-journal", "-new-wal", "-new-shm", "-new-journal"};
    struct cut_plan none = {0};
    char name[300];
    cut_begin(&none);
    for (size_t i = 0; i < sizeof tails / sizeof tails[0]; i++) {
        snprintf(name, sizeof name, "%s%s", path, tails[i]);
        unlink(name);
    }
}

struct comparing {
    int64_t seen;
    bool same;
};

static bool compare(void *self, const struct entry *e)
{
    struct comparing *c = self;
    struct entry due = entry_number((int)++c->seen);
    c->same = e->seq == c->seen && e->utc_us == due.utc_us && e->mono_us == due.mono_us && !strcmp(e->kind, due.kind) &&
              !strcmp(e->payload, due.payload);
    return !c->same;
}

static void fail(const struct cut_plan *plan, const char *what)
{
    if (failures++ < 20)
        fprintf(stderr, "at %ld how %d keep %d span %d seed %llu: %s\n", plan->at, plan->how, plan->keep, plan->span,
                (unsigned long long)plan->seed, what);
}

/* The journal as it stands: a true prefix with all that was told. Returns its number of entries, -1 if not even that. */
static int64_t check(const struct cut_plan *plan, const struct life *l)
{
    struct store *s = NULL;
    int64_t bad = 0, count = 0;
    struct comparing c = {.same = true};
    enum store_result r = store_open(&s, path, STORE_WRITE, why);
    if (r == STORE_OK)
        r = store_verify(s, &bad, &count, why);
    if (r == STORE_OK)
        r = store_each(s, NULL, compare, &c);
    store_close(s);
    if (r != STORE_OK || !c.same || c.seen != count) {
        fail(plan, r != STORE_OK ? why : "another entry than was appended");
        return -1;
    }
    if (count < l->told || count > l->tried) {
        lost++;
        if (!plan->lying)
            fail(plan, "not the entries that were stored");
        return -1;
    }
    return count;
}

static void go_on(const struct cut_plan *plan, int64_t count)
{
    struct life l = {.told = (int)count, .tried = (int)count};
    live(&l, (int)count + 2, 1);
    if (l.failed)
        fail(plan, why);
    else
        check(plan, &l);
}

/* Cut, and cut again while it recovers. */
static void cut_power(const struct cut_plan *plan)
{
    struct life l, again;
    clean_folder();
    cut_begin(plan);
    whole_life(&l, 1);
    cut_restore();
    if (plan->keep == KEEP_SOME) {
        struct cut_plan second = *plan;
        second.at = 1 + (long)(plan->seed % 23);
        cut_begin(&second);
        again = l;
        live(&again, l.told + 1, 1);
        l.told = again.told > l.told ? again.told : l.told;
        l.tried = again.tried > l.tried ? again.tried : l.tried;
        cut_restore();
    }
    int64_t count = check(plan, &l);
    if (count >= 0)
        go_on(plan, count);
}

static void refuse(const struct cut_plan *plan)
{
    struct life l;
    clean_folder();
    cut_begin(plan);
    whole_life(&l, plan->span + 1);
    if (l.failed)
        fail(plan, why);
    struct cut_plan none = {0};
    cut_begin(&none);
    if (check(plan, &l) != ENTRIES)
        fail(plan, "not all entries are there");
}

static long count_operations(void)
{
    struct life l;
    clean_folder();
    whole_life(&l, 1);
    long n = cut_count();
    if (l.failed || l.told != ENTRIES)
        fail(&(struct cut_plan){0}, why);
    return n;
}

/* On a disk that only says it has synced, entries must get lost: else this test would see nothing. */
static void lying_disk(long operations)
{
    lost = 0;
    for (long at = operations / 3; at < operations && !lost; at += operations / 7) {
        struct cut_plan plan = {.at = at, .how = CUT_POWER, .keep = KEEP_NONE, .lying = true};
        cut_power(&plan);
    }
    if (!lost)
        fail(&(struct cut_plan){0}, "a disk that lies was not noticed");
}

int main(int argc, char **argv)
{
    long step = argc > 1 ? strtol(argv[1], NULL, 10) : 1;
    uint64_t seed = argc > 2 ? strtoull(argv[2], NULL, 10) : 1;
    const char *tmp = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/tareline-powercut-XXXXXX", tmp ? tmp : "/tmp");
    if (step < 1 || !mkdtemp(folder))
        return 2;
    snprintf(path, sizeof path, "%s/journal.db", folder);
    cut_install(folder);
    long operations = count_operations(), cuts = 0;
    lying_disk(operations);
    for (long at = 1 + (long)(seed % (uint64_t)step); at <= operations && failures < 20; at += step) {
        for (int keep = 0; keep < KEEP_MODES; keep++, cuts++)
            cut_power(&(struct cut_plan){.at = at, .keep = (uint8_t)keep, .seed = seed * 1000003 + (uint64_t)at});
        for (int how = CUT_ERROR; how <= CUT_FULL; how++, cuts++)
            refuse(&(struct cut_plan){.at = at, .how = (uint8_t)how, .span = 1 + (int)(at % 4)});
    }
    clean_folder();
    snprintf(payload, sizeof payload, "%s-lock", path);
    unlink(payload);
    rmdir(folder);
    printf("%ld operations, %ld cuts and refusals, %ld failures\n", operations, cuts, failures);
    return failures ? 1 : 0;
}
