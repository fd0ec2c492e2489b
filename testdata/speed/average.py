# go build -o /tmp/calotte ./cmd/calotte && python3 testdata/speed/average.py /tmp/calotte 1
# Times the verb average beside a plain numpy and scipy script that does the same, as
# whole processes, medians of five taken in turn, with the largest resident memory. The
# recording, so many hours of 64 sites at 500 Hz with 1,800 events an hour, is made in
# /dev/shm and deleted in the end. A loop that only counts says how far two processes get
# in the time of one: on a shared machine less than twice as far.
import multiprocessing
import os
import statistics
import sys
import tempfile
import time

SITES, RATE, RECORD = 64, 500, 1
NAMES = ("Fp1 Fp2 F7 F3 Fz F4 F8 T7 C3 Cz C4 T8 P7 P3 Pz P4 P8 O1 O2 AF7 AF3 AFz AF4 AF8 F5 F1 F2 F6 FT7 FC5 FC3 FC1 FCz "
         "FC2 FC4 FC6 FT8 C5 C1 C2 C6 TP7 CP5 CP3 CP1 CPz CP2 CP4 CP6 TP8 P5 P1 P2 P6 PO7 PO3 POz PO4 PO8 Oz Fpz F9 F10 Iz").split()
ANNOTATIONS = 120  # bytes a record


def make(path, hours):
    import numpy as np
    n = SITES + 1
    def fields(values, width):
        return "".join(str(v).ljust(width) for v in values)
    head = "0".ljust(8) + "X X X X".ljust(80) + "Startdate 01-MAR-2026 X X X".ljust(80) + "01.03.2609.00.00"
    head += str(256 * (n + 1)).ljust(8) + "EDF+C".ljust(44) + str(3600 * hours).ljust(8) + "1".ljust(8) + str(n).ljust(4)
    head += fields(NAMES + ["EDF Annotations"], 16) + " " * 80 * n + fields(["uV"] * SITES + [""], 8)
    head += fields([-3276.8] * SITES + [-1], 8) + fields([3276.7] * SITES + [1], 8)
    head += fields([-32768] * n, 8) + fields([32767] * n, 8) + " " * 80 * n
    head += fields([RATE] * SITES + [ANNOTATIONS // 2], 8) + " " * 32 * n
    noise = np.random.default_rng(1)
    with open(path, "wb") as f:
        f.write(head.encode())
        for r in range(3600 * hours):
            f.write((200 * noise.standard_normal((SITES, RATE))).astype("<i2").tobytes())
            text = b"+%d\x14\x14\x00" % r
            if r % 2 and r > 1 and r < 3600 * hours - 2:
                text += b"+%d.2\x14%s\x14\x00" % (r, b"ab"[r % 4 > 2:][:1])
            f.write(text.ljust(ANNOTATIONS, b"\x00"))


def script(path, filtered):
    import hashlib
    import numpy as np
    with open(path, "rb") as f:
        data = f.read()
    hashlib.sha256(data).hexdigest()
    records = (len(data) - 256 * (SITES + 2)) // (2 * SITES * RATE + ANNOTATIONS)
    body = np.frombuffer(data, "<i2", offset=256 * (SITES + 2)).reshape(records, -1)
    signals = body[:, :SITES * RATE].reshape(records, SITES, RATE).transpose(1, 0, 2).reshape(SITES, -1)
    events = {b"a": [], b"b": []}
    for r in range(records):
        for part in body[r, SITES * RATE:].tobytes().split(b"\x00")[1:]:
            onset, _, label = part.partition(b"\x14")
            if label.rstrip(b"\x14") in events:
                events[label.rstrip(b"\x14")].append(round(float(onset) * RATE))
    if filtered:
        from scipy.signal import firwin, oaconvolve
        high = -firwin(16501, 0.1, fs=RATE, window="hamming")
        high[8250] += 1
        taps = np.convolve(high, firwin(221, 30, fs=RATE, window="hamming"))
        out = np.empty(signals.shape, "f8")
        half = len(taps) // 2
        for i, row in enumerate(signals):
            x = 0.1 * row
            x = np.concatenate([2 * x[0] - x[half:0:-1], x, 2 * x[-1] - x[-2:-half - 2:-1]])
            out[i] = oaconvolve(x, taps, "valid")
        signals, gain = out, 1.0
    else:
        gain = 0.1
    window = np.arange(-100, 401)
    for onsets in events.values():
        total, squares, n = np.zeros((SITES, 501)), np.zeros((SITES, 501)), 0
        for at in onsets:
            e = gain * signals[:, at + window]
            e -= e.mean(axis=0)
            e -= e[:, :101].mean(axis=1, keepdims=True)
            if np.ptp(e, axis=1).max() <= 300:
                total += e
                squares += e * e
                n += 1
        sem = np.sqrt((squares / n - (total / n) ** 2) / (n - 1))
        print(n, (total / n).std(), sem.mean())


def spin():
    start, n = time.perf_counter(), 0
    while time.perf_counter() - start < 1:
        for _ in range(1000):
            n += 1
    return n


def run(command):
    start = time.perf_counter()
    pid = os.posix_spawnp(command[0], command, os.environ,
                          file_actions=[(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0), (os.POSIX_SPAWN_OPEN, 2, os.devnull, os.O_WRONLY, 0)])
    _, status, used = os.wait4(pid, 0)
    assert status == 0, command
    return time.perf_counter() - start, used.ru_maxrss / 1024


def main(calotte, hours):
    one = spin()
    with multiprocessing.Pool(2) as pool:
        both = sum(pool.map(spin_once, range(2)))
    print(f"spin loop: two processes count {both / one:.2f} times as far as one")
    with tempfile.TemporaryDirectory(dir="/dev/shm") as folder:
        path = os.path.join(folder, "noise.edf")
        make(path, hours)
        print(f"{hours} h, {os.path.getsize(path) / 1e6:.0f} MB")
        plain = [calotte, "average", path, "--condition", "a=a", "--condition", "b=b", "--reference", "average", "--reject", "300uV",
                 "--force", "--quiet", "-o", os.path.join(folder, "out")]
        for what, extra, filtered in (("plain", [], "0"), ("0.1-30 Hz", ["--highpass", "0.1Hz", "--lowpass", "30Hz"], "1")):
            times = {"calotte": [], "script": []}
            for _ in range(5):
                times["calotte"].append(run(plain + extra))
                if hours == 1:
                    times["script"].append(run([sys.executable, __file__, "--script", path, filtered]))
            for who, list_ in times.items():
                if list_:
                    print(f"{what:10} {who:8} {statistics.median(t for t, _ in list_):.3f} s, {max(m for _, m in list_):.0f} MiB")


def spin_once(_):
    return spin()


if __name__ == "__main__":
    if sys.argv[1] == "--script":
        script(sys.argv[2], sys.argv[3] == "1")
    else:
        main(sys.argv[1], int(sys.argv[2]))
