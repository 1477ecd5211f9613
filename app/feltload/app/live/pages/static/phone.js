// The page of a phone that is a sensor: reads its motion, keeps what cannot be sent yet, and says what is wrong.
import { keepAwake } from "/assets/stream.js";

const SEND_MS = 50;
const AGAIN_MS = 700;
const POST_MS = 250;
const UNOPENED = 3; // sockets that did not open, after which it sends by requests
const KEPT = 4000; // about a minute
const AT_ONCE = 200;
const HELD_BYTES = 100_000;
const NOTHING_MS = 3000;
const SLEPT_MS = 100;
const REFUSED = 1007;
const OVER = 1008;

const words = JSON.parse(document.getElementById("words").textContent);
const at = (id) => document.getElementById(id);
const fill = (text, given) => text.replace(/\{(\w+)\}/g, (_, name) => given[name]);

// What the computer has not said that it heard: sent on a socket that dies unnoticed, it is sent again.
const kept = [];
let count = 0;
let next = 0;
let dropped = 0;
let up = null;
let flatUntil = 0;
let socket = null;
let opened = false;
let unopened = 0;
let posting = false;
let answered = 0;
let ended = "";
let newest = 0;
let hiddenSince = 0;
let hiddenFor = 0;
let incomplete = false;
let begun = 0;
let shift = 0;
let beat = null;

// A page's clock may stand still while the phone sleeps; the wall clock does not.
function pageClock(stamp) {
  const now = performance.now();
  const wall = Date.now();
  if (beat && wall - beat.wall - (now - beat.now) > SLEPT_MS) shift += wall - beat.wall - (now - beat.now);
  beat = { now, wall };
  const sound = stamp > 0 && Math.abs(stamp - now) < 1000;
  return (sound ? stamp : now) + shift;
}

function moved(event) {
  const a = event.accelerationIncludingGravity;
  const r = event.rotationRate;
  const values = [a?.x, a?.y, a?.z, r?.alpha, r?.beta, r?.gamma];
  incomplete = !values.every(Number.isFinite);
  if (incomplete) return;
  newest = performance.now();
  kept.push([count, pageClock(event.timeStamp), ...values, Number.isFinite(event.interval) ? event.interval : 0]);
  count += 1;
  if (kept.length > KEPT) {
    dropped += kept.length - KEPT;
    kept.splice(0, kept.length - KEPT);
  }
}

// The upward direction in the phone's axes, from the angles that it states (Z-X'-Y'' as the standard has them).
function lies(event) {
  if (!Number.isFinite(event.beta) || !Number.isFinite(event.gamma)) return;
  const beta = (event.beta * Math.PI) / 180;
  const gamma = (event.gamma * Math.PI) / 180;
  up = [-Math.cos(beta) * Math.sin(gamma), Math.sin(beta), Math.cos(beta) * Math.cos(gamma)];
}

function message(rows) {
  const told = performance.now() < flatUntil ? [0, 0, 1] : up;
  return JSON.stringify({
    m: rows.map((row) => row.map((value) => Math.round(value * 1e6) / 1e6)),
    up: told && told.map((value) => Math.round(value * 1e4) / 1e4),
    lost: dropped,
  });
}

function send() {
  if (posting || socket?.readyState !== WebSocket.OPEN || socket.bufferedAmount > HELD_BYTES || !kept.length) return;
  const first = Math.max(0, next - kept[0][0]);
  const rows = kept.slice(first, first + AT_ONCE);
  if (!rows.length) return;
  next = rows.at(-1)[0] + 1;
  socket.send(message(rows));
}

// Some browsers open no socket where nobody signed the certificate, and send requests to the same place none the less.
async function post() {
  posting = true;
  while (!ended) {
    try {
      const sent = { method: "POST", body: message(kept.slice(0, AT_ONCE)), headers: { "content-type": "application/json" } };
      const answer = await fetch(`/phone/motion${opened ? "?again=1" : ""}`, sent);
      if (answer.ok) {
        opened = true;
        answered = performance.now();
        show(await answer.json());
      } else if (answer.status < 500) ended = await answer.text();
    } catch {
      // Not reached: tried again.
    }
    await new Promise((resolve) => setTimeout(resolve, POST_MS));
  }
}

function isAway() {
  return posting ? performance.now() - answered > NOTHING_MS : socket?.readyState !== WebSocket.OPEN;
}

function connect() {
  const again = opened ? "?again=1" : "";
  const own = new WebSocket(`wss://${location.host}/phone/motion${again}`);
  socket = own;
  own.onopen = () => {
    opened = true;
    next = 0;
  };
  own.onmessage = (event) => own === socket && show(JSON.parse(event.data));
  own.onclose = (event) => {
    if (event.code === REFUSED || event.code === OVER) ended = event.reason;
    else if (!opened && (unopened += 1) >= UNOPENED) post();
    else if (!ended) setTimeout(connect, AGAIN_MS);
  };
}

function show(told) {
  const heard = kept.findIndex((row) => row[0] > told.heard);
  kept.splice(0, heard < 0 ? kept.length : heard);
  const steps = told.steps.map(([text, done]) => {
    const item = document.createElement("li");
    item.textContent = `${done ? "✓ " : ""}${text}`;
    return item;
  });
  at("steps").replaceChildren(...steps);
  at("flat").hidden = !told.flat;
  const lines = [told.name, ...told.lines].map((text) => {
    const line = document.createElement("p");
    line.textContent = text;
    return line;
  });
  at("lines").replaceChildren(...lines);
}

function say() {
  const silent = performance.now() - Math.max(newest, begun) > NOTHING_MS;
  const away = isAway();
  const troubles = [];
  if (ended) troubles.push(ended);
  else if (incomplete) troubles.push(words.incomplete);
  else if (silent) troubles.push(words.none);
  if (!ended && away && newest) troubles.push(fill(words.away, { n: kept.length }));
  if (dropped) troubles.push(fill(words.dropped, { n: dropped }));
  if (hiddenFor > 1000) troubles.push(fill(words.hidden, { s: Math.round(hiddenFor / 1000) }));
  at("trouble").textContent = troubles.join(" ");
  at("doing").textContent = ended || silent || away ? "" : newest ? words.sending : words.waiting;
}

function seen() {
  if (document.visibilityState === "hidden") hiddenSince = Date.now();
  else if (hiddenSince) {
    hiddenFor += Date.now() - hiddenSince;
    hiddenSince = 0;
  }
}

async function begin() {
  at("trouble").textContent = "";
  if (!window.isSecureContext) {
    at("trouble").textContent = words.insecure;
    return;
  }
  for (const kind of [window.DeviceMotionEvent, window.DeviceOrientationEvent]) {
    if (typeof kind?.requestPermission !== "function") continue;
    let answer = "denied";
    try {
      answer = await kind.requestPermission();
    } catch {
      // The browser refuses without asking.
    }
    if (answer !== "granted" && kind === window.DeviceMotionEvent) {
      at("trouble").textContent = words.denied;
      return;
    }
  }
  at("start").hidden = true;
  begun = performance.now();
  window.addEventListener("devicemotion", moved);
  window.addEventListener("deviceorientation", lies);
  document.addEventListener("visibilitychange", seen);
  keepAwake();
  at("awake").textContent = navigator.wakeLock ? words.awake : words.sleepy;
  connect();
  setInterval(send, SEND_MS);
  setInterval(say, 300);
}

at("flat").addEventListener("click", () => {
  flatUntil = performance.now() + 1500;
});
at("start").addEventListener("click", begin);
