/* tareline ports: what is plugged in, and which of it is which scale. */
#include <getopt.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>

#include "cli/commands.h"
#include "cli/options.h"
#include "core/json.h"
#include "drivers/numbered.h"
#include "drivers/ports.h"
#include "files/files.h"
#include "station/prove.h"

static const char usage[] =
    "usage: tareline ports [--json]\n"
    "       tareline ports --prove NAME=PROFILE [--prove NAME=PROFILE]... [DEVICE]...\n\n"
    "Lists what is plugged in that could be a scale: serial ports and HID scales, by names that stay with them.\n\n"
    "With --prove it finds out which of them is the scale NAME: it listens on all with PROFILE, asks you to put\n"
    "something on that scale alone, and takes the one whose weight moves. Its device is printed for the station "
    "file.\n\n"
    "  --prove NAME=PROFILE  a scale to find, and its profile; several are asked for one after the other\n"
    "  DEVICE                listen on these instead, such as tcp:HOST:PORT or modbus:TTY:ADDRESS\n"
    "  --json                the list as one JSON object a line\n\n"
    "Exit codes: 0 done; 1 a scale was not found, or nothing is plugged in; 2 usage; 3 a profile is wrong.\n";

static volatile sig_atomic_t stop;

static void on_signal(int number)
{
    (void)number;
    stop = 1;
}

struct wanted {
    char name[CAP_KEY];
    char profile_name[FILE_PATH];
    struct profile profile;
};

struct arguments {
    bool json, help;
    unsigned count, device_count;
    struct wanted wanted[CAP_SCALES];
    const char *devices[PROVE_MOST];
};

static bool wrong(const char *text, const char *about)
{
    fprintf(stderr, "tareline ports: %s%s; see tareline ports --help\n", text, about);
    return false;
}

static bool take_wanted(struct arguments *a, const char *text)
{
    const char *equals = strchr(text, '=');
    size_t n = equals ? (size_t)(equals - text) : 0;
    if (!n || n >= CAP_KEY || !equals[1] || strlen(equals + 1) >= FILE_PATH)
        return wrong("--prove wants NAME=PROFILE, not ", text);
    if (a->count == CAP_SCALES)
        return wrong("more scales than a station has: ", text);
    struct wanted *w = &a->wanted[a->count++];
    memcpy(w->name, text, n);
    w->name[n] = '\0';
    memcpy(w->profile_name, equals + 1, strlen(equals + 1) + 1);
    return true;
}

static bool read_arguments(int argc, char **argv, struct arguments *a)
{
    static const struct option options[] = {
        {"prove", required_argument, NULL, 'p'},
        {"json", no_argument, NULL, 'j'},
        {"help", no_argument, NULL, 'h'},
        {NULL, 0, NULL, 0},
    };
    for (int o; (o = option_next(argc, argv, options)) != -1;) {
        if (o == 'j')
            a->json = true;
        else if (o == 'h')
            a->help = true;
        else if (o == 'p' && !take_wanted(a, optarg))
            return false;
        else if (o == ':' || o == '?')
            return wrong(option_wrong(o), "");
    }
    for (; optind < argc; optind++) {
        if (!a->count)
            return wrong("a DEVICE without --prove: ", argv[optind]);
        if (a->device_count == PROVE_MOST)
            return wrong("more than 16 devices: ", argv[optind]);
        a->devices[a->device_count++] = argv[optind];
    }
    return !a->count || !a->json || wrong("--json goes with the list alone", "");
}

static void list_json(const struct port_found *found)
{
    char line[6 * (PORTS_DEVICE + PORTS_WHAT) + 40]; /* though every byte were escaped */
    struct json j;
    json_begin(&j, line, sizeof line);
    json_open(&j, '{');
    json_put_string(&j, "device", found->device);
    json_put_string(&j, "what", found->what);
    json_close(&j, '}');
    if (json_finish(&j))
        puts(line);
}

static int list(const struct port_found *found, unsigned n, bool json)
{
    for (unsigned i = 0; i < n; i++) {
        if (json)
            list_json(&found[i]);
        else
            printf("%s\n    %s\n", found[i].device, found[i].what);
    }
    if (!n)
        fputs("tareline ports: nothing is plugged in that could be a scale: check cable and power\n", stderr);
    return n ? EXIT_DONE : EXIT_NO;
}

static bool load_profile(struct wanted *w)
{
    static struct file_text text; /* these two are too large for the stack */
    static struct faults faults;
    char path[FILE_PATH];
    bool ok = file_find("scales", w->profile_name, path, &faults) && file_read(path, &text, &faults) &&
              profile_read(&text, &w->profile, &faults);
    if (!ok)
        faults_print(&faults, stderr);
    return ok;
}

static void ask(void *user)
{
    const struct wanted *w = user;
    printf("Put something on the scale \"%s\", or press on it. Leave the others alone. (60 s)\n", w->name);
    fflush(stdout);
}

static void say_found(const struct wanted *w, const char *device)
{
    printf("[scale %s]\nprofile = %s\ndevice = %s\n", w->name, w->profile_name, device);
    if (numbered_name(device))
        fprintf(stderr,
                "tareline ports: %s only says in which order it was plugged in; tareline weigh takes it while no other "
                "such port is there; better a link of its own (docs/installer.md)\n",
                device);
}

static void say_end(const struct wanted *w, const struct prove *p, enum prove_end end)
{
    if (end == PROVE_FOUND)
        say_found(w, p->devices[p->found]);
    else if (end == PROVE_NONE)
        fprintf(stderr, "tareline ports: no weight moved; is \"%s\" switched on, and %s its profile?\n", w->name,
                w->profile_name);
    else if (end == PROVE_SEVERAL)
        fprintf(stderr, "tareline ports: more than one weight moved; try again, and touch only \"%s\"\n", w->name);
    else if (end == PROVE_DEAF)
        fprintf(stderr, "tareline ports: no port gives a weight with %s; tareline listen shows what comes\n",
                w->profile_name);
    fflush(stdout);
}

/* Ports of the kind that the profile is for, unless devices were named. */
static void choose_ports(struct prove *p, const struct arguments *a, const struct wanted *w,
                         const struct port_found *found, unsigned n, const bool *taken)
{
    memset(p, 0, sizeof *p);
    p->profile = &w->profile;
    for (unsigned i = 0; i < a->device_count; i++)
        p->devices[p->count++] = a->devices[i];
    for (unsigned i = 0; i < n && !a->device_count; i++)
        p->devices[p->count++] = found[i].device;
    for (unsigned i = 0; i < p->count; i++)
        p->taken[i] = taken[i] || (!a->device_count && found[i].reports != (w->profile.form == FORM_REPORTS));
}

static int prove_all(struct arguments *a, const struct port_found *found, unsigned n)
{
    static struct prove p;
    bool taken[PROVE_MOST] = {false};
    struct sigaction action = {.sa_handler = on_signal};
    sigset_t held;
    sigaction(SIGINT, &action, NULL);
    sigaction(SIGTERM, &action, NULL);
    sigemptyset(&held);
    sigaddset(&held, SIGINT);
    sigaddset(&held, SIGTERM);
    sigprocmask(SIG_BLOCK, &held, NULL); /* they come through where it waits */
    for (unsigned i = 0; i < a->count; i++) {
        choose_ports(&p, a, &a->wanted[i], found, n, taken);
        enum prove_end end = prove_run(&p, ask, &a->wanted[i], stderr, &stop);
        say_end(&a->wanted[i], &p, end);
        if (end != PROVE_FOUND)
            return EXIT_NO;
        taken[p.found] = true;
    }
    return EXIT_DONE;
}

int cmd_ports(int argc, char **argv)
{
    static struct arguments a;
    struct port_found found[PORTS_MOST];
    if (!read_arguments(argc, argv, &a))
        return EXIT_USAGE;
    if (a.help) {
        fputs(usage, stdout);
        return EXIT_DONE;
    }
    for (unsigned i = 0; i < a.count; i++)
        if (!load_profile(&a.wanted[i]))
            return EXIT_FILE;
    unsigned n = a.device_count ? 0 : ports_list(found);
    if (!a.count || (!n && !a.device_count))
        return list(found, n, a.json);
    return prove_all(&a, found, n);
}
