// Listens to what is measured. After every interruption it asks for the whole state again: a page in the background
// is cut off without a word.
const SILENT_MS = 3000;
const AGAIN_MS = 700;

export class Stream {
  constructor(path, take) {
    this.path = path;
    this.take = take;
    this.heard = 0;
    this.closed = false;
    // Right after opening the page is visible too: only what may be stale is asked for again.
    this.wake = () => document.visibilityState === "visible" && this.fresh() && this.again();
    document.addEventListener("visibilitychange", this.wake);
    window.addEventListener("online", this.wake);
    window.addEventListener("pageshow", this.wake);
    this.watch = setInterval(() => this.look(), 500);
    this.open();
  }

  get live() {
    return performance.now() - this.heard < SILENT_MS;
  }

  fresh() {
    return this.socket && performance.now() - this.since > AGAIN_MS;
  }

  open() {
    const scheme = location.protocol === "https:" ? "wss:" : "ws:";
    this.since = performance.now();
    const socket = new WebSocket(`${scheme}//${location.host}${this.path}`);
    this.socket = socket;
    socket.onmessage = (event) => {
      if (socket !== this.socket) return;
      this.heard = performance.now();
      this.take(JSON.parse(event.data));
    };
  }

  look() {
    const waiting = performance.now() - Math.max(this.heard, this.since);
    const down = this.socket.readyState > WebSocket.OPEN && waiting > AGAIN_MS;
    if (!this.closed && (down || waiting > SILENT_MS)) this.again();
  }

  again() {
    const old = this.socket;
    this.open();
    if (old.readyState === WebSocket.OPEN) old.close();
    else old.onopen = () => old.close();
  }

  close() {
    this.closed = true;
    clearInterval(this.watch);
    document.removeEventListener("visibilitychange", this.wake);
    window.removeEventListener("online", this.wake);
    window.removeEventListener("pageshow", this.wake);
    const old = this.socket;
    this.socket = null;
    if (old.readyState === WebSocket.OPEN) old.close();
    else old.onopen = () => old.close();
  }
}

// Keeps the screen on while the page is seen, where the browser allows it (secure contexts only); returns how to end it.
export function keepAwake() {
  let lock = null;
  const take = async () => {
    if (document.visibilityState !== "visible" || !navigator.wakeLock) return;
    try {
      lock = await navigator.wakeLock.request("screen");
    } catch {
      lock = null;
    }
  };
  document.addEventListener("visibilitychange", take);
  take();
  return () => {
    document.removeEventListener("visibilitychange", take);
    lock?.release();
  };
}
