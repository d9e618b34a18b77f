/* tareline check: every fault of any of our files. */
#include <stdlib.h>
#include <string.h>

#include "cli/commands.h"
#include "core/json.h"
#include "files/files.h"

static const char usage[] =
    "usage: tareline check [--json] FILE...\n"
    "       tareline check --keys\n"
    "\n"
    "Reads formulas, scale profiles, station, people and limits files and lists every fault, one a line:\n"
    "FILE:LINE: what is wrong; what was expected. The files that a station file names are read too.\n"
    "\n"
    "  --json   one JSON object for each FILE: file, kind, good, faults [{file, line, text}]\n"
    "  --keys   print the reference page of all sections and keys\n"
    "\n"
    "Exit codes: 0 no faults; 1 faults; 2 usage; 3 a file can't be read.\n";

/* A byte of a fault takes at most six in JSON (\u001b); the rest is for the keys around each. */
#define JSON_ROOM (8 * FAULTS_TEXT)

/* True if the line begins with the path, whose control characters faults show as '?'. */
static bool names(const char *line, const char *path)
{
    for (; *path; path++, line++)
        if (*line != *path && !(*line == '?' && ((unsigned char)*path < ' ' || *path == 0x7f)))
            return false;
    return *line == ':';
}

/* "FILE:LINE: text" or "FILE: text" into its parts. FILE may hold colons: it is the checked one, or ends before the first
 * colon that a number or a blank follows. */
static void put_fault(struct json *j, const char *line, size_t n, const char *path)
{
    size_t file = 0;
    size_t text = 0;
    long number = 0;
    for (size_t i = names(line, path) ? strlen(path) : 0; i + 1 < n && !text; i++) {
        size_t digits = line[i] == ':' ? strspn(line + i + 1, "0123456789") : 0;
        bool numbered = digits && i + digits + 2 < n && line[i + 1 + digits] == ':' && line[i + 2 + digits] == ' ';
        if (!numbered && !(line[i] == ':' && line[i + 1] == ' '))
            continue;
        file = i;
        number = numbered ? strtol(line + i + 1, NULL, 10) : 0;
        text = numbered ? i + digits + 3 : i + 2;
    }
    json_open(j, '{');
    json_key(j, "file");
    json_string_n(j, line, file);
    json_put_int(j, "line", number);
    json_key(j, "text");
    json_string_n(j, line + text, n - text);
    json_close(j, '}');
}

static void print_json(const char *path, const char *kind, const struct faults *f)
{
    static char buf[JSON_ROOM];
    struct json j;
    json_begin(&j, buf, sizeof buf);
    json_open(&j, '{');
    json_put_string(&j, "file", path);
    json_put_string(&j, "kind", kind);
    json_put_bool(&j, "good", f->count == 0);
    json_put_int(&j, "count", f->count);
    json_key(&j, "faults");
    json_open(&j, '[');
    for (const char *at = f->text; *at;) {
        size_t n = strcspn(at, "\n");
        put_fault(&j, at, n, path);
        at += n + (at[n] == '\n');
    }
    json_close(&j, ']');
    json_close(&j, '}');
    if (json_finish(&j))
        puts(buf);
}

static int check_one(const char *path, bool json)
{
    static struct file_text text;
    static struct faults f;
    const char *kind = "";
    memset(&f, 0, sizeof f);
    bool read = file_read(path, &text, &f);
    if (read)
        file_check(&text, &kind, &f);
    if (json)
        print_json(path, kind, &f);
    else if (f.count)
        faults_print(&f, stderr);
    else
        printf("%s: a %s file without faults\n", path, kind);
    if (!f.count)
        return EXIT_DONE;
    return text.len ? EXIT_NO : EXIT_FILE; /* nothing was read: the fault is that it can't be */
}

int cmd_check(int argc, char **argv)
{
    bool json = false;
    int first = 1;
    for (; first < argc && argv[first][0] == '-' && argv[first][1]; first++) {
        if (!strcmp(argv[first], "--help") || !strcmp(argv[first], "-h")) {
            fputs(usage, stdout);
            return EXIT_DONE;
        }
        if (!strcmp(argv[first], "--keys")) {
            files_reference(stdout);
            return EXIT_DONE;
        }
        if (!strcmp(argv[first], "--")) {
            first++;
            break;
        }
        if (strcmp(argv[first], "--json") != 0) {
            fprintf(stderr, "tareline check: no option %s; tareline check --help lists them\n", argv[first]);
            return EXIT_USAGE;
        }
        json = true;
    }
    if (first == argc) {
        fputs("tareline check: no FILE was given; expected tareline check FILE...\n", stderr);
        return EXIT_USAGE;
    }
    int worst = EXIT_DONE;
    for (int i = first; i < argc; i++) {
        int code = check_one(argv[i], json);
        worst = code > worst ? code : worst;
    }
    return worst;
}
