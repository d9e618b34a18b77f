#include "tests/e2e/demo/child.h"

#include <errno.h>
#include <signal.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

static void become(int in[2], int out[2], char *const argv[])
{
    dup2(in[0], STDIN_FILENO);
    dup2(out[1], STDOUT_FILENO);
    close(in[0]);
    close(in[1]);
    close(out[0]);
    close(out[1]);
    prctl(PR_SET_PDEATHSIG, SIGTERM);
    execvp(argv[0], argv);
    _exit(127);
}

bool child_start(struct child *c, char *const argv[])
{
    int in[2], out[2];
    memset(c, 0, sizeof *c);
    c->to = c->from = -1;
    if (pipe(in))
        return false;
    if (pipe(out)) {
        close(in[0]);
        close(in[1]);
        return false;
    }
    c->pid = fork();
    if (c->pid == 0)
        become(in, out, argv);
    close(in[0]);
    close(out[1]);
    c->to = in[1];
    c->from = out[0];
    return c->pid > 0;
}

void child_say(struct child *c, const char *line)
{
    char text[CHILD_LINE];
    size_t n = strnlen(line, CHILD_LINE - 1);
    memcpy(text, line, n);
    text[n++] = '\n';
    if (c->to >= 0 && write(c->to, text, n) != (ssize_t)n) {
        close(c->to); /* it is gone; its end will be seen on the other pipe */
        c->to = -1;
    }
}

void child_fill(struct child *c)
{
    ssize_t n = read(c->from, c->buffer + c->len, sizeof c->buffer - c->len);
    if (n > 0) {
        c->len += (size_t)n;
    } else if (n == 0 || errno != EINTR) {
        close(c->from);
        c->from = -1;
    }
}

bool child_line(struct child *c, char line[CHILD_LINE])
{
    char *end = memchr(c->buffer, '\n', c->len);
    if (!end) {
        if (c->len == sizeof c->buffer)
            c->len = 0; /* longer than any line of ours */
        return false;
    }
    size_t n = (size_t)(end - c->buffer), keep = n < CHILD_LINE ? n : CHILD_LINE - 1;
    memcpy(line, c->buffer, keep);
    line[keep] = 0;
    c->len -= n + 1;
    memmove(c->buffer, end + 1, c->len);
    return true;
}

int child_end(struct child *c)
{
    int status;
    if (c->to >= 0)
        close(c->to);
    if (c->from >= 0)
        close(c->from);
    c->to = c->from = -1;
    while (waitpid(c->pid, &status, 0) < 0)
        if (errno != EINTR)
            return -1;
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}
