/* System calls of another process, counted by tracing it. */
#include <errno.h>
#include <signal.h>
#include <string.h>
#include <sys/ptrace.h>
#include <sys/wait.h>
#include <unistd.h>
#include <linux/ptrace.h>

#include "rig.h"

/* True if this stop is the entry of a system call. */
static bool is_entry(pid_t pid, int status)
{
    struct __ptrace_syscall_info info;
    if (!WIFSTOPPED(status) || WSTOPSIG(status) != (SIGTRAP | 0x80))
        return false;
    return ptrace(PTRACE_GET_SYSCALL_INFO, pid, sizeof info, &info) > 0 && info.op == PTRACE_SYSCALL_INFO_ENTRY;
}

/* A signal that is on its way to the traced process is handed on; the tracer's own stops are not. */
static long to_deliver(int status)
{
    int signal = WSTOPSIG(status);
    return status >> 16 == PTRACE_EVENT_STOP || signal == (SIGTRAP | 0x80) || signal == SIGTRAP ? 0 : signal;
}

/* At the next stop, whichever it is: any stop takes the place of the one that was asked for. */
static void let_go(pid_t pid)
{
    int status;
    ptrace(PTRACE_INTERRUPT, pid, 0, 0);
    if (waitpid(pid, &status, __WALL) == pid && WIFSTOPPED(status))
        ptrace(PTRACE_DETACH, pid, 0, to_deliver(status));
}

long program_calls(struct program *p, void (*work)(void *context), void *context)
{
    long calls = 0;
    int status;
    if (ptrace(PTRACE_SEIZE, p->pid, 0, PTRACE_O_TRACESYSGOOD))
        give_up("process %d can't be traced: %s", (int)p->pid, strerror(errno));
    ptrace(PTRACE_INTERRUPT, p->pid, 0, 0);
    pid_t worker = fork();
    if (worker == 0) {
        work(context);
        _exit(0);
    }
    for (;;) {
        pid_t who = waitpid(-1, &status, __WALL);
        if (who == worker)
            break;
        if (who != p->pid || !WIFSTOPPED(status))
            give_up("the program ended while it was measured");
        calls += is_entry(p->pid, status);
        ptrace(PTRACE_SYSCALL, p->pid, 0, to_deliver(status));
    }
    let_go(p->pid);
    if (!WIFEXITED(status) || WEXITSTATUS(status))
        give_up("the scale's line could not be played");
    return calls;
}
