/* tareline records: what the journal holds. Its subcommands, one line each in the table below. */
#include <getopt.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cli/commands.h"
#include "cli/options.h"
#include "core/json.h"
#include "report/export.h"
#include "report/list.h"
#include "report/show.h"

#define PATH 1024

struct request {
    const char *journal, *batch, *operand;
    bool json, csv, help;
    char path[PATH];
};

struct subcommand {
    const char *name;
    int (*run)(const struct request *q);
    bool takes_batch, takes_operand, takes_csv;
    const char *help;
};

static int wrong_use(const char *why, const char *about)
{
    fprintf(stderr, "tareline records: %s%s; see tareline records --help\n", why, about);
    return EXIT_USAGE;
}

static int cannot(const char *why)
{
    fprintf(stderr, "tareline records: %s\n", why);
    return EXIT_JOURNAL;
}

static struct store *open_journal(const struct request *q, enum store_mode mode, enum store_result *r)
{
    char why[STORE_WHY] = "";
    struct store *s = NULL;
    *r = store_open(&s, q->path, mode, why);
    if (*r != STORE_OK)
        (void)cannot(why);
    return s;
}

static int unreadable(enum store_result r)
{
    if (r == STORE_BROKEN)
        return cannot("the journal holds something that can't be read; run tareline records verify");
    return cannot("the journal can't be read now; try again");
}

static int run_list(const struct request *q)
{
    enum store_result r;
    int64_t count;
    struct store *s = open_journal(q, STORE_READ, &r);
    if (!s)
        return EXIT_JOURNAL;
    r = list_batches(s, q->json ? LIST_JSON : q->csv ? LIST_CSV : LIST_TEXT, stdout, &count);
    store_close(s);
    if (r != STORE_OK)
        return unreadable(r);
    if (count == 0 && !q->json && !q->csv)
        puts("no batch yet");
    return EXIT_DONE;
}

static int no_batch(const char *batch)
{
    if (*batch)
        fprintf(stderr, "tareline records: no batch %s in the journal; tareline records list shows them\n", batch);
    else
        fputs("tareline records: no batch has been begun in this journal yet\n", stderr);
    return EXIT_NO;
}

static int run_show(const struct request *q)
{
    char id[STORE_BATCH] = "";
    enum store_result r;
    struct batch_report *b = NULL;
    struct store *s = open_journal(q, STORE_READ, &r);
    if (!s)
        return EXIT_JOURNAL;
    const char *asked = q->operand ? q->operand : q->batch;
    r = asked ? STORE_OK : list_newest(s, id);
    if (r == STORE_OK)
        r = batch_load(s, asked ? asked : id, &b);
    store_close(s);
    if (r != STORE_OK)
        return r == STORE_NONE ? no_batch(asked ? asked : id) : unreadable(r);
    bool whole = true;
    if (q->json)
        whole = show_json(b, stdout);
    else
        show_text(b, stdout);
    free(b);
    return whole ? EXIT_DONE : cannot("the batch record is too long");
}

static int run_export(const struct request *q)
{
    enum store_result r;
    struct store *s = open_journal(q, STORE_READ, &r);
    if (!s)
        return EXIT_JOURNAL;
    r = export_entries(s, q->batch, q->csv ? EXPORT_CSV : EXPORT_JSON, stdout);
    store_close(s);
    if (r == STORE_NONE)
        return no_batch(q->batch);
    return r == STORE_OK ? EXIT_DONE : unreadable(r);
}

static void say_verified(const struct request *q, enum store_result r, int64_t bad, int64_t count, const char *why)
{
    char line[STORE_WHY * 6 + 100];
    struct json j;
    if (!q->json) {
        if (r == STORE_OK)
            printf("%" PRId64 " entries verify\n", count);
        else
            printf("%s\n", why);
        return;
    }
    json_begin(&j, line, sizeof line);
    json_open(&j, '{');
    json_put_bool(&j, "verifies", r == STORE_OK);
    json_put_int(&j, "entries", count);
    if (bad)
        json_put_int(&j, "bad_seq", bad);
    else
        json_put_null(&j, "bad_seq");
    json_put_string(&j, "why", why);
    json_close(&j, '}');
    if (json_finish(&j))
        puts(line);
}

/* Damage that is found while opening is the answer "no" to this question, not a journal that can't be used. */
static int run_verify(const struct request *q)
{
    char why[STORE_WHY] = "";
    enum store_result r;
    int64_t bad = 0, count = 0;
    struct store *s = open_journal(q, STORE_READ, &r);
    if (!s)
        return r == STORE_BROKEN ? EXIT_NO : EXIT_JOURNAL;
    r = store_verify(s, &bad, &count, why);
    store_close(s);
    if (r != STORE_OK && r != STORE_BROKEN)
        return cannot(why);
    say_verified(q, r, bad, count, why);
    return r == STORE_OK ? EXIT_DONE : EXIT_NO;
}

/* Opening for repair does the work (STORE_REPAIR); it is a writer, so a station that runs keeps it out. */
static int run_rebuild(const struct request *q)
{
    enum store_result r;
    struct store *s = open_journal(q, STORE_REPAIR, &r);
    if (!s)
        return r == STORE_BROKEN ? EXIT_NO : EXIT_JOURNAL;
    struct store_head head = store_head(s);
    store_close(s);
    if (q->json)
        printf("{\"entries\":%" PRId64 "}\n", head.seq);
    else
        printf("the tables were made anew from %" PRId64 " entries\n", head.seq);
    return EXIT_DONE;
}

static const struct subcommand subcommands[] = {
    {"list", run_list, false, false, true, "the batches, oldest first"},
    {"show", run_show, true, true, false, "[BATCH]: the batch record (else of the newest batch)"},
    {"export", run_export, true, false, true, "every entry, as JSON lines or CSV"},
    {"verify", run_verify, false, false, false,
     "compute every hash anew; exit 1 and the first bad entry if one is not right"},
    {"rebuild", run_rebuild, false, false, false, "make the tables beside the journal, and lost guards, anew from it"},
};
#define SUBCOMMANDS (sizeof subcommands / sizeof subcommands[0])

static void usage(FILE *to)
{
    fputs("usage: tareline records SUBCOMMAND [OPTION]...\n\n"
          "Reads the journal; only rebuild writes, and never to the entries.\n\n",
          to);
    for (size_t i = 0; i < SUBCOMMANDS; i++)
        fprintf(to, "  %-15s %s\n", subcommands[i].name, subcommands[i].help);
    fputs(
        "\n"
        "  --journal FILE  the journal (else TARELINE_JOURNAL, else the user's data folder)\n"
        "  --batch ID      show, export: this batch\n"
        "  --json          for a program; export's default: one object a line, masses in grams\n"
        "  --csv           list, export: RFC 4180 rows with a header\n"
        "\n"
        "Exit codes: 0 done; 1 it does not verify, or there is no such batch; 2 usage; 5 the journal can't be used.\n",
        to);
}

static int read_options(int argc, char **argv, struct request *q)
{
    static const struct option options[] = {
        {"journal", required_argument, NULL, 'j'}, {"batch", required_argument, NULL, 'b'},
        {"json", no_argument, NULL, 'J'},          {"csv", no_argument, NULL, 'C'},
        {"help", no_argument, NULL, 'h'},          {NULL, 0, NULL, 0},
    };
    int c;
    optind = 1; /* argv begins at the subcommand */
    while ((c = option_next(argc, argv, options)) != -1) {
        if (c == 'j')
            q->journal = optarg;
        else if (c == 'b')
            q->batch = optarg;
        else if (c == 'J')
            q->json = true;
        else if (c == 'C')
            q->csv = true;
        else if (c == 'h')
            q->help = true;
        else
            return wrong_use(option_wrong(c), "");
    }
    return EXIT_DONE;
}

static int check_request(const struct subcommand *sub, struct request *q)
{
    if (q->batch && !sub->takes_batch)
        return wrong_use("--batch does not go with ", sub->name);
    bool ours;
    if (q->csv && !sub->takes_csv)
        return wrong_use("--csv does not go with ", sub->name);
    if (q->csv && q->json)
        return wrong_use("--json and --csv can't both be had", "");
    if (q->operand && !sub->takes_operand)
        return wrong_use("this is one word too many: ", q->operand);
    if (q->operand && q->batch)
        return wrong_use("the batch is named twice: ", q->operand);
    if (q->journal && strlen(q->journal) >= sizeof q->path)
        return cannot("the journal's path is too long");
    if (q->journal)
        snprintf(q->path, sizeof q->path, "%s", q->journal);
    else if (!store_default_path(q->path, sizeof q->path, &ours))
        return cannot("neither HOME nor XDG_DATA_HOME says where the journal is; name it with --journal");
    return EXIT_DONE;
}

int cmd_records(int argc, char **argv)
{
    struct request q = {0};
    int code = read_options(argc, argv, &q);
    if (code != EXIT_DONE)
        return code;
    if (q.help) {
        usage(stdout);
        return EXIT_DONE;
    }
    if (optind == argc)
        return wrong_use("say what is wanted: list, show, export, verify or rebuild", "");
    const char *name = argv[optind];
    q.operand = optind + 1 < argc ? argv[optind + 1] : NULL;
    if (optind + 2 < argc)
        return wrong_use("this is one word too many: ", argv[optind + 2]);
    for (size_t i = 0; i < SUBCOMMANDS; i++) {
        if (strcmp(subcommands[i].name, name) != 0)
            continue;
        code = check_request(&subcommands[i], &q);
        return code == EXIT_DONE ? subcommands[i].run(&q) : code;
    }
    return wrong_use("no such subcommand: ", name);
}
