/* tareline listen: what a scale sends, and what a profile makes of it. */
#include <errno.h>
#include <getopt.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "cli/commands.h"
#include "cli/options.h"
#include "files/files.h"
#include "station/listen.h"

static volatile sig_atomic_t stop;

static void on_signal(int number)
{
    (void)number;
    stop = 1;
}

static void usage(FILE *to)
{
    fputs("usage: tareline listen PROFILE@DEVICE [--count N] [--json] [--capture FILE] [--send tare|zero|units]\n\n"
          "Shows every line that a scale sends, as text and in hexadecimal, with what the profile makes of it, and at\n"
          "the end its rate, gaps and faults by kind. Ctrl-C ends it.\n\n"
          "  PROFILE         a shipped profile's name, or a path (with / or .ini)\n"
          "  DEVICE          any of:\n",
          to);
    for (const struct driver *const *d = drivers; *d; d++)
        fprintf(to, "                  - %s\n", (*d)->forms);
    fputs("  --count N       end after N readings; silence of 10 s is then an error\n"
          "  --json          one JSON object a line\n"
          "  --capture FILE  write what came to a new recording, to be played with replay:FILE\n"
          "  --send COMMAND  send the profile's tare, zero or units command once, behind the first reading: look "
          "whether\n"
          "                  the scale obeys. Nothing else that Tareline does sends one: the keys are the person's\n\n"
          "Exit codes: 0 done; 2 usage; 3 the profile is wrong or has no such command, or the recording can't be "
          "written;\n"
          "4 device.\n",
          to);
}

struct arguments {
    const char *profile_at_device, *capture;
    struct listen_options options;
    bool help;
};

static bool wrong(const char *text, const char *about)
{
    fprintf(stderr, "tareline listen: %s%s; see tareline listen --help\n", text, about);
    return false;
}

static bool read_count(const char *text, uint32_t *out)
{
    uint64_t n;
    if (!option_whole(text, 1, 1000000000, &n))
        return wrong("--count wants a number from 1 to 1000000000, not ", text);
    *out = (uint32_t)n;
    return true;
}

static bool read_command(const char *text, struct listen_options *out)
{
    for (unsigned k = FEEDER_TARE; k <= FEEDER_UNITS; k++)
        if (!strcmp(text, listen_command_text((enum feeder_command)k))) {
            out->sends = true;
            out->send = (enum feeder_command)k;
            return true;
        }
    return wrong("--send wants tare, zero or units, not ", text);
}

static bool read_arguments(int argc, char **argv, struct arguments *a)
{
    static const struct option options[] = {
        {"count", required_argument, NULL, 'n'},   {"json", no_argument, NULL, 'j'},
        {"capture", required_argument, NULL, 'c'}, {"send", required_argument, NULL, 's'},
        {"help", no_argument, NULL, 'h'},          {NULL, 0, NULL, 0},
    };
    for (int o; (o = option_next(argc, argv, options)) != -1;) {
        if (o == 'j')
            a->options.json = true;
        else if (o == 'c')
            a->capture = optarg;
        else if (o == 'h')
            a->help = true;
        else if (o == 'n' && !read_count(optarg, &a->options.count))
            return false;
        else if (o == 's' && !read_command(optarg, &a->options))
            return false;
        else if (o == ':' || o == '?')
            return wrong(option_wrong(o), "");
    }
    if (a->help)
        return true;
    if (optind + 1 < argc)
        return wrong("one PROFILE@DEVICE is enough, not also ", argv[optind + 1]);
    if (optind == argc)
        return wrong("PROFILE@DEVICE is missing", "");
    a->profile_at_device = argv[optind];
    return true;
}

/* At the first '@': a device may hold others (a link's name), a profile's path may not. *device points into arg. */
static bool split(const char *arg, char profile[FILE_PATH], const char **device)
{
    const char *at = strchr(arg, '@');
    if (!at || at == arg || !at[1] || (size_t)(at - arg) >= FILE_PATH)
        return wrong("expected PROFILE@DEVICE, not ", arg);
    memcpy(profile, arg, (size_t)(at - arg));
    profile[at - arg] = '\0';
    *device = at + 1;
    return true;
}

static bool load_profile(const char *name, struct profile *out)
{
    static struct file_text text; /* these two are too large for the stack */
    static struct faults faults;
    char path[FILE_PATH];
    bool ok = file_find("scales", name, path, &faults) && file_read(path, &text, &faults) &&
              profile_read(&text, out, &faults);
    if (!ok)
        faults_print(&faults, stderr);
    return ok;
}

static bool has_command(const struct profile *p, const struct listen_options *o)
{
    if (!o->sends || feeder_command(p, o->send)->len)
        return true;
    fprintf(stderr, "tareline listen: the profile %s has no %s command: give it as %s = BYTES in its [scale]\n",
            p->name, listen_command_text(o->send), listen_command_text(o->send));
    return false;
}

/* A new file: an older recording is never written over. */
static FILE *new_recording(const char *path, const struct profile *p, const char *device)
{
    char begun[32];
    time_t now = time(NULL);
    struct tm utc;
    FILE *f = fopen(path, "wx"); /* x: fails if it is there */
    if (!f) {
        fprintf(stderr, "tareline listen: the recording %s can't be written: %s; give the name of a new file\n", path,
                strerror(errno));
        return NULL;
    }
    setvbuf(f, NULL, _IOLBF, 0); /* line by line: it can be read while it grows, and a kill costs one line at most */
    strftime(begun, sizeof begun, "%Y-%m-%dT%H:%M:%SZ", gmtime_r(&now, &utc));
    fprintf(f, "# tareline recording 1\n# begun %s, device %.100s\n", begun, device);
    fprintf(f, "# profile %s: %u baud, %u bits, %s parity, %u stop, %s\n", p->name, (unsigned)p->baud, p->bits,
            p->parity == PARITY_NONE   ? "no"
            : p->parity == PARITY_EVEN ? "even"
                                       : "odd",
            p->stop, p->sends == SENDS_POLLED ? "polled" : "continuous");
    return f;
}

/* A handler and not a descriptor as in the station: listening is interrupted at its one wait and then says its summary.
 * SIGPIPE ignored: a reader that has gone (`| head`) shows in ferror and ends it in the same way. */
static void catch_signals(void)
{
    struct sigaction a = {.sa_handler = on_signal};
    sigset_t held;
    sigaction(SIGINT, &a, NULL);
    sigaction(SIGTERM, &a, NULL);
    sigaction(SIGHUP, &a, NULL);
    a.sa_handler = SIG_IGN;
    sigaction(SIGPIPE, &a, NULL);
    sigemptyset(&held);
    sigaddset(&held, SIGINT);
    sigaddset(&held, SIGTERM);
    sigaddset(&held, SIGHUP);
    sigprocmask(SIG_BLOCK, &held, NULL); /* they come through where listening waits */
}

static int exit_code(const struct listen *l, enum listen_end end)
{
    switch (end) {
    case LISTEN_TROUBLE:
        fprintf(stderr, "tareline listen: %s\n",
                l->feeder.why[0] ? l->feeder.why
                                 : "the scale stayed silent; check the cable, and that it is switched on");
        return EXIT_DEVICE;
    case LISTEN_CAPTURE:
        fputs("tareline listen: the recording could not be written to its end: is the disk full?\n", stderr);
        return EXIT_FILE;
    case LISTEN_COUNT:
    case LISTEN_STOPPED:
    case LISTEN_PLAYED:
        break;
    }
    return EXIT_DONE;
}

int cmd_listen(int argc, char **argv)
{
    static struct listen l;
    struct arguments a = {.options.out = stdout};
    struct profile profile;
    char name[FILE_PATH];
    const char *device;
    if (!read_arguments(argc, argv, &a))
        return EXIT_USAGE;
    if (a.help) {
        usage(stdout);
        return EXIT_DONE;
    }
    if (!split(a.profile_at_device, name, &device))
        return EXIT_USAGE;
    if (!load_profile(name, &profile) || !has_command(&profile, &a.options))
        return EXIT_FILE;
    if (a.capture && !(a.options.capture = new_recording(a.capture, &profile, device)))
        return EXIT_FILE;
    catch_signals();
    enum listen_end end = listen_run(&l, &a.options, &profile, device, &stop);
    if (a.options.capture && fclose(a.options.capture) && end != LISTEN_TROUBLE)
        end = LISTEN_CAPTURE;
    if (a.capture && !l.n) /* never opened: leave no empty recording behind */
        unlink(a.capture);
    return exit_code(&l, end);
}
