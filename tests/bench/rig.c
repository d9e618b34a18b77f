/* Rig: see rig.h. */
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "rig.h"

uint64_t clock_ns(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint64_t)t.tv_sec * 1000000000u + (uint64_t)t.tv_nsec;
}

void sleep_until(uint64_t at_ns)
{
    struct timespec t = {.tv_sec = (time_t)(at_ns / 1000000000u), .tv_nsec = (long)(at_ns % 1000000000u)};
    while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &t, NULL) == EINTR)
        ;
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return x < y ? -1 : x > y;
}

double median(double *v, size_t n)
{
    qsort(v, n, sizeof *v, ascending);
    return n % 2 ? v[n / 2] : (v[n / 2 - 1] + v[n / 2]) / 2;
}

struct quartiles quartiles(double *v, size_t n)
{
    struct quartiles q = {.middle = median(v, n)};
    q.lower = median(v, n / 2);
    q.upper = median(v + (n + 1) / 2, n / 2);
    return q;
}

void give_up(const char *format, ...)
{
    va_list args;
    fputs("bench: ", stderr);
    va_start(args, format);
    vfprintf(stderr, format, args);
    va_end(args);
    fputc('\n', stderr);
    exit(1); /* the programs get SIGHUP as their terminals close */
}

static int open_master(char path[64])
{
    int master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (master < 0 || grantpt(master) || unlockpt(master) || ptsname_r(master, path, 64))
        give_up("no pseudo-terminal: %s", strerror(errno));
    return master;
}

void wire_open(struct wire *w)
{
    struct termios t;
    w->master = open_master(w->path);
    tcgetattr(w->master, &t);
    cfmakeraw(&t);
    tcsetattr(w->master, TCSANOW, &t);
}

void wire_send(const struct wire *w, const char *bytes, size_t n)
{
    if (write(w->master, bytes, n) != (ssize_t)n)
        give_up("the scale's line takes no more bytes: %s", strerror(errno));
}

static _Noreturn void become(const char *const argv[], const char *env, const char *errors, const char *terminal)
{
    struct winsize size = {.ws_row = 24, .ws_col = 80};
    setsid();
    prctl(PR_SET_PDEATHSIG, SIGTERM);
    int tty = open(terminal, O_RDWR);
    int log = open(errors, O_WRONLY | O_CREAT | O_APPEND, 0644);
    ioctl(tty, TIOCSWINSZ, &size);
    dup2(tty, 0);
    dup2(tty, 1);
    dup2(log, 2);
    setenv("TERM", "xterm-256color", 1);
    setenv("LC_ALL", "C.UTF-8", 1);
    if (env)
        putenv((char *)(uintptr_t)env);
    execv(argv[0], (char *const *)(uintptr_t)argv);
    perror(argv[0]);
    _exit(127);
}

void program_start(struct program *p, const char *const argv[], const char *env, const char *errors)
{
    char terminal[64];
    memset(p, 0, sizeof *p);
    p->terminal = open_master(terminal);
    p->started_ns = clock_ns();
    p->pid = fork();
    if (p->pid < 0)
        give_up("no process: %s", strerror(errno));
    if (p->pid == 0)
        become(argv, env, errors, terminal);
}

bool program_read(struct program *p, int timeout_ms)
{
    struct pollfd fd = {.fd = p->terminal, .events = POLLIN};
    char buf[8192];
    if (poll(&fd, 1, timeout_ms) <= 0)
        return false;
    ssize_t n = read(p->terminal, buf, sizeof buf);
    if (n <= 0)
        return false;
    p->shown += (size_t)n;
    size_t part = sizeof p->tail - p->kept < (size_t)n ? sizeof p->tail - p->kept : (size_t)n;
    memcpy(p->tail + p->kept, buf, part);
    p->kept += part;
    return true;
}

void program_forget(struct program *p)
{
    while (program_read(p, 0))
        ;
    p->kept = 0;
}

uint64_t program_wrote(struct program *p, const char *text)
{
    uint64_t until = clock_ns() + 2000000000u;
    do {
        bool more = program_read(p, 100);
        uint64_t now = clock_ns();
        if (more && memmem(p->tail, p->kept, text, strlen(text)))
            return now;
    } while (clock_ns() < until);
    return 0;
}

void program_end(struct program *p)
{
    int status;
    kill(p->pid, SIGTERM);
    for (int i = 0; i < 300 && waitpid(p->pid, &status, WNOHANG) == 0; i++)
        program_read(p, 10);
    kill(p->pid, SIGKILL);
    waitpid(p->pid, &status, 0);
    close(p->terminal);
}

long program_status(const struct program *p, const char *name)
{
    char path[64], line[256];
    long value = -1;
    snprintf(path, sizeof path, "/proc/%d/status", (int)p->pid);
    FILE *f = fopen(path, "r");
    while (f && fgets(line, sizeof line, f))
        if (!strncmp(line, name, strlen(name)) && line[strlen(name)] == ':')
            value = strtol(line + strlen(name) + 1, NULL, 10);
    if (f)
        fclose(f);
    if (value < 0)
        give_up("/proc tells no %s of process %d: has it ended?", name, (int)p->pid);
    return value;
}

uint64_t program_cpu_ns(const struct program *p)
{
    char path[64];
    unsigned long long ns = 0;
    snprintf(path, sizeof path, "/proc/%d/schedstat", (int)p->pid);
    FILE *f = fopen(path, "r");
    if (!f || fscanf(f, "%llu", &ns) != 1)
        give_up("/proc tells no processor time of process %d", (int)p->pid);
    fclose(f);
    return ns;
}
