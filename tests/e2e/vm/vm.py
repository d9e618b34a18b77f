#!/usr/bin/env python3
"""A small virtual machine, by software emulation alone, in which a pseudo-terminal of the host is a true /dev/ttyUSB0.

    vm.py [--tty PTS] [--seconds N] -- COMMAND

boots Debian's kernel package with busybox, mounts the host's whole tree read-only (a writable /run over it, with TMPDIR and HOME),
runs the shell command in the current folder, passes its output on and ends with its exit code. With --tty, QEMU plugs an
emulated USB serial adaptor in whose far end is that pseudo-terminal. As a module it gives a test the class Vm: commands,
their standard input and output, and the plug itself.

With udev=True the machine runs Debian's udev, so that the links under /dev/serial are those of its own rules.

What it needs is kept in build/vm: the packages of kernel and udev are fetched by `apt-get download` once."""
import argparse
import glob
import json
import lzma
import os
import select
import shutil
import socket
import subprocess
import sys
import time

HERE = os.path.dirname(os.path.abspath(__file__))
BUILD = os.path.abspath(os.environ.get("BUILD", "build"))
CACHE = os.path.join(BUILD, "vm")
UDEV = os.path.join(CACHE, "udev/tree")
MODULES = ["virtio_pci", "virtio_console", "9pnet_virtio", "9p", "xhci_pci", "ftdi_sio", "uhid", "hid_generic"]


# Unpacked and not installed, it looks for its rules elsewhere, and is told by its name which of its programs it is.
START_UDEV = f"""export SYSTEMD_IGNORE_CHROOT=1; mkdir -p /run/udev/rules.d && cp {UDEV}/lib/udev/rules.d/60-serial.rules /run/udev/rules.d &&
 ln -s {UDEV}/bin/udevadm /run/systemd-udevd && ln -s {UDEV}/bin/udevadm /run/udevadm &&
 /run/systemd-udevd --daemon && /run/udevadm trigger --subsystem-match=tty && /run/udevadm settle
""".replace("\n", "")


class VmError(Exception):
    pass


def kernel_package():
    """The one that linux-image-amd64 stands for."""
    depends = subprocess.run(["apt-cache", "depends", "linux-image-amd64"], capture_output=True, text=True, check=False)
    return next((line.split()[-1] for line in depends.stdout.splitlines() if "Depends: linux-image-" in line), "linux-image-amd64")


def fetch(folder, name_of):
    """A package of Debian's, unpacked in folder/tree; nothing is installed."""
    os.makedirs(folder, exist_ok=True)
    for attempt in (1, 2):
        name = name_of()
        got = subprocess.run(["apt-get", "-q", "download", name], cwd=folder, capture_output=True, text=True, check=False)
        if got.returncode == 0:
            break
        if attempt == 2:
            raise VmError(f"can't fetch the package {name}: {got.stderr}")
        subprocess.run(["apt-get", "-q", "update"], capture_output=True, check=False)
    package = glob.glob(os.path.join(folder, name + "_*.deb"))[0]
    subprocess.run(["dpkg-deb", "-x", package, os.path.join(folder, "tree")], check=True)


def modules_in_order(tree, version):
    """Paths of MODULES and all that they need, each after what it needs."""
    depmod = shutil.which("depmod", path=os.environ["PATH"] + ":/sbin:/usr/sbin")
    subprocess.run([depmod, "-b", tree, version], check=True)
    needs = {}
    base = os.path.join(tree, "lib/modules", version)
    with open(os.path.join(base, "modules.dep"), encoding="ascii") as f:
        for line in f:
            path, rest = line.strip().split(":")
            needs[path] = rest.split()
    by_name = {os.path.basename(p).split(".ko")[0].replace("-", "_"): p for p in needs}
    order = []
    for name in MODULES:
        # modules.dep names the nearest last
        for path in reversed([by_name[name]] + needs[by_name[name]]):
            if path not in order:
                order.append(path)
    return [os.path.join(base, p) for p in order]


def unpacked(image):
    """The kernel as a plain ELF file, which QEMU enters by its PVH note: the emulated machine would need seconds to
    unpack it. An image that isn't packed by xz is used as it is."""
    with open(image, "rb") as f:
        data = f.read()
    at = data.find(b"\xfd7zXZ\0")
    plain = lzma.LZMADecompressor().decompress(data[at:]) if at >= 0 else b""
    return plain if plain.startswith(b"\x7fELF") else data


def prepare():
    """build/vm/kernel and build/vm/initramfs, made anew when the recipe is newer than they are."""
    kernel, first = os.path.join(CACHE, "kernel"), os.path.join(CACHE, "initramfs")
    recipe = max(os.path.getmtime(os.path.join(HERE, f)) for f in ("vm.py", "init"))
    if os.path.exists(first) and os.path.getmtime(first) > recipe:
        return kernel, first
    os.makedirs(CACHE, exist_ok=True)
    tree = os.path.join(CACHE, "package/tree")
    if not glob.glob(os.path.join(tree, "boot/vmlinuz-*")):
        fetch(os.path.join(CACHE, "package"), kernel_package)
    if not os.path.exists(UDEV + "/bin/udevadm"):
        fetch(os.path.join(CACHE, "udev"), lambda: "udev")
    image = glob.glob(os.path.join(tree, "boot/vmlinuz-*"))[0]
    version = os.path.basename(image)[len("vmlinuz-"):]
    root = os.path.join(CACHE, "root")
    shutil.rmtree(root, ignore_errors=True)
    for name in ("bin", "dev", "proc", "sys", "host", "modules"):
        os.makedirs(os.path.join(root, name))
    busybox = shutil.which("busybox")
    shutil.copy(busybox, os.path.join(root, "bin/busybox"))
    os.symlink("busybox", os.path.join(root, "bin/sh"))
    shutil.copy(os.path.join(HERE, "init"), os.path.join(root, "init"))
    os.chmod(os.path.join(root, "init"), 0o755)
    with open(os.path.join(root, "modules/order"), "w", encoding="ascii") as order:
        for path in modules_in_order(tree, version):
            shutil.copy(path, os.path.join(root, "modules"))
            order.write(os.path.basename(path) + "\n")
    names = subprocess.run(["find", "."], cwd=root, capture_output=True, check=True).stdout
    packed = subprocess.run(["cpio", "-o", "-H", "newc", "--quiet"], cwd=root, input=names, capture_output=True, check=True)
    with open(kernel, "wb") as f:
        f.write(unpacked(image))
    with open(first + ".new", "wb") as f:
        f.write(packed.stdout)
    os.rename(first + ".new", first)
    return kernel, first


class Vm:
    """with Vm(tty=PTS) as vm: code = vm.run("COMMAND"), or vm.start, vm.io, vm.wait; vm.unplug(), vm.plug(). With two
    adaptors (tty, other) they are named 1 and 2, by their USB port; the default is 1. uart: a pseudo-terminal that is the far
    end of /dev/ttyS1, a 16550."""

    def __init__(self, tty=None, seconds=90, other=None, serial="A107", udev=False, uart=None):
        self.serial = serial
        self.console = os.path.join(CACHE, "console.log")
        self.kept = b""
        kernel, first = prepare()
        self.ends = time.monotonic() + seconds
        self.control, control = socket.socketpair()
        self.io, io = socket.socketpair()
        self.err, err = socket.socketpair()
        self.monitor, monitor = socket.socketpair()
        far = [control, io, err, monitor]
        command = [
            "qemu-system-x86_64", "-accel", "tcg", "-machine", "q35", "-cpu", "qemu64", "-m", "384", "-nodefaults",
            "-display", "none", "-no-reboot", "-kernel", kernel, "-initrd", first,
            "-append", "console=ttyS0 quiet mitigations=off panic=-1 random.trust_cpu=on",
            "-chardev", f"file,id=console,path={self.console}", "-serial", "chardev:console",
            "-fsdev", "local,id=host,path=/,security_model=none,readonly=on,multidevs=remap",
            "-device", "virtio-9p-pci,fsdev=host,mount_tag=host",
            "-chardev", f"socket,id=monitor,fd={monitor.fileno()}", "-mon", "chardev=monitor,mode=control",
            "-device", "qemu-xhci", "-device", "virtio-serial-pci",
        ]
        for name, end in (("control", control), ("io", io), ("err", err)):
            command += ["-chardev", f"socket,id={name},fd={end.fileno()}", "-device", f"virtserialport,chardev={name},name={name}"]
        for number, path in ((1, tty), (2, other)):
            if path:
                device = ",".join(f"{k}={v}" for k, v in self.adaptor(number).items())
                command += ["-chardev", f"serial,id=line{number},path={path}", "-device", device.replace("driver=", "")]
        if uart:
            command += ["-chardev", f"serial,id=uart,path={uart}", "-device", "isa-serial,chardev=uart,index=1"]
        self.process = subprocess.Popen(command, pass_fds=[s.fileno() for s in far], stdin=subprocess.DEVNULL)
        for s in far:
            s.close()
        self.qmp("qmp_capabilities")
        if self.line() != "ready":
            raise VmError("the virtual machine didn't come up")
        if udev and self.run(START_UDEV) != 0:
            raise VmError("udev doesn't start")

    def adaptor(self, number):
        return {"driver": "usb-serial", "chardev": f"line{number}", "id": f"adaptor{number}", "serial": self.serial,
                "port": f"{number}", "always-plugged": "on"}

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def left(self):
        """Seconds left; out of time is an error."""
        left = self.ends - time.monotonic()
        if left <= 0:
            raise VmError("out of time; the console's last words:\n" + self.last_words())
        return left

    def last_words(self):
        if not os.path.exists(self.console):
            return "(none)"
        with open(self.console, "rb") as f:
            return f.read()[-2000:].decode(errors="replace")

    def line(self):
        """The next line of the control port."""
        while b"\n" not in self.kept:
            self.control.settimeout(self.left())
            try:
                more = self.control.recv(4096)
            except TimeoutError:
                continue
            if not more:
                raise VmError("the virtual machine went down; its console's last words:\n" + self.last_words())
            self.kept += more
        line, self.kept = self.kept.split(b"\n", 1)
        return line.decode().strip()

    def qmp(self, execute, **arguments):
        """One command of QEMU's monitor (QMP); its answer."""
        self.monitor.settimeout(self.left())
        self.monitor.sendall(json.dumps({"execute": execute, "arguments": arguments}).encode() + b"\n")
        text = b""
        while True:
            text += self.monitor.recv(65536)
            *lines, text = text.split(b"\n")
            for line in filter(bytes.strip, lines):
                said = json.loads(line)
                if "error" in said:
                    raise VmError(f"monitor: {execute}: {said['error']['desc']}")
                if "return" in said:
                    return said["return"]

    def unplug(self, number=1):
        self.qmp("device_del", id=f"adaptor{number}")

    def plug(self, number=1):
        """After an unplug; waits until the guest has let the old one go."""
        while True:
            try:
                return self.qmp("device_add", **self.adaptor(number) | {"always-plugged": True})
            except VmError:
                self.left()
                time.sleep(0.05)

    def start(self, command):
        """Begins a shell command in our current folder; self.io is its standard input and output."""
        self.control.sendall(f"cd '{os.getcwd()}' && {{ {command}\t}}\n".replace("\t", "; ").encode())

    def wait(self):
        """Its exit code."""
        return int(self.line().split()[1])

    def run(self, command, out=None, err=None):
        """Runs a command without input, its output to our own; the exit code."""
        out, err = out or sys.stdout.buffer, err or sys.stderr.buffer
        self.start(command + " </dev/null")
        to = {self.io: out, self.err: err}
        while self.control not in (ready := select.select([self.control, *to], [], [], self.left())[0]):
            pump(ready, to)
        while ready := select.select(list(to), [], [], 0.1)[0]:
            pump(ready, to)
        return self.wait()

    def close(self):
        if self.process.poll() is None:
            try:
                self.control.sendall(b"poweroff\n")
                self.process.wait(5)
            except (OSError, subprocess.TimeoutExpired):
                self.process.kill()
        self.process.wait()


def pump(ready, to):
    for s in ready:
        to[s].write(s.recv(65536))
        to[s].flush()


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--tty", help="a pseudo-terminal of the host that is /dev/ttyUSB0 inside")
    ask.add_argument("--seconds", type=float, default=90)
    ask.add_argument("--prepare", action="store_true", help="only make what it needs in build/vm")
    ask.add_argument("command", nargs="*")
    args = ask.parse_args()
    try:
        if args.prepare:
            prepare()
            return 0
        with Vm(args.tty, args.seconds) as vm:
            return vm.run(" ".join(args.command))
    except VmError as e:
        print(f"vm: {e}", file=sys.stderr)
        return 99


if __name__ == "__main__":
    sys.exit(main())
