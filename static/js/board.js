// data-board: the flap turns about its crease when a slide opens a fold, then the copies appear; the page tilts until a
// slanting crease stands upright; a click on the paper goes on, F fills the screen, T tilts. Every slide is a page of its
// own, so all of it is ornament: with reduced motion pictures change at once.

const SVG = "http://www.w3.org/2000/svg";
const TURN = 420; // ms: as --unfold in tokens.css
const BLUE = 'path[fill="#0B4A83"], path[stroke="#0B4A83"]'; // mirror line, copies and ties, as drawings give them
const still = matchMedia("(prefers-reduced-motion: reduce)");
const ease = (t) => (t < 0.5 ? 2 * t * t : 1 - (2 - 2 * t) ** 2 / 2);
const stage = () => document.querySelector("[data-board] [data-stage]");
const picture = () => stage()?.querySelector("svg svg");
let before = null; // the picture that was there, and how many folds were closed in it

function make(tag, values, ...children) {
  const made = document.createElementNS(SVG, tag);
  Object.entries(values).forEach(([key, value]) => made.setAttribute(key, value));
  made.append(...children);
  return made;
}

function play(ms, draw) {
  return new Promise((done) => {
    const start = performance.now();
    const step = (now) => {
      const t = Math.min((now - start) / ms, 1);
      draw(ease(t));
      if (t < 1) requestAnimationFrame(step);
      else done();
    };
    requestAnimationFrame(step);
  });
}

const drawn = (svg) => [...svg.children].filter((part) => !["title", "desc"].includes(part.tagName)).map((part) => part.cloneNode(true));
const plain = (svg) => drawn(svg).filter((part) => !part.matches(BLUE));

// The plane squeezed square to the crease by s: 1 leaves it, 0 lays it on the crease, -1 mirrors it.
function squeeze([x1, y1, x2, y2], s) {
  const length = Math.hypot(x2 - x1, y2 - y1);
  const [nx, ny] = [(y2 - y1) / length, (x1 - x2) / length];
  const off = nx * x1 + ny * y1;
  const k = s - 1;
  return `matrix(${[1 + k * nx * nx, k * nx * ny, k * nx * ny, 1 + k * ny * ny, -k * nx * off, -k * ny * off].join(" ")})`;
}

async function turnFlap(from) {
  const { crease, flap } = stage().dataset;
  const line = crease.split(" ").map(Number);
  const now = picture();
  const whole = [...now.childNodes];
  const { x, y, width, height } = now.viewBox.baseVal;
  const around = `M${x - width} ${y - height}h${3 * width}v${3 * height}h${-3 * width}z`;
  const clip = (id, path, values = {}) => make("clipPath", { id }, make("path", { d: path, ...values }));
  const front = make("g", {}, make("g", { "clip-path": "url(#flap-closed)" }, ...plain(from)));
  const back = make("g", { visibility: "hidden" }, make("g", { "clip-path": "url(#flap-open)" }, ...plain(now)));
  now.replaceChildren(
    clip("flap-rest", around + flap, { "clip-rule": "evenodd" }),
    clip("flap-open", flap),
    clip("flap-closed", flap, { transform: squeeze(line, -1) }),
    make("g", { "clip-path": "url(#flap-rest)" }, ...whole.filter((part) => part.matches && !part.matches(BLUE)).map((part) => part.cloneNode(true))),
    front,
    back,
  );
  await play(TURN, (t) => {
    const s = Math.cos(Math.PI * t);
    front.setAttribute("transform", squeeze(line, Math.max(s, 0.001)));
    back.setAttribute("transform", squeeze(line, Math.max(-s, 0.001)));
    front.setAttribute("visibility", s > 0 ? "visible" : "hidden");
    back.setAttribute("visibility", s > 0 ? "hidden" : "visible");
  });
  if (!now.isConnected) return;
  now.replaceChildren(...whole);
  now.querySelectorAll(BLUE).forEach((part) => part.animate([{ opacity: 0 }, { opacity: 1 }], { duration: TURN, easing: "ease-out" }));
}

async function tilt(link) {
  const group = stage().querySelector("svg > g");
  const to = link.hasAttribute("aria-current") ? 0 : Number(link.dataset.tilt);
  const from = Number(/rotate\(([-\d.]+)\)/.exec(group.getAttribute("transform"))[1]);
  const middle = group.getAttribute("transform").match(/translate\([^)]*\)/g);
  const size = (degrees) => 1 - (Math.abs(degrees) ? 0.28 * Math.min(Math.abs(degrees / Number(link.dataset.tilt)), 1) : 0);
  const lay = (degrees) => group.setAttribute("transform", `${middle[0]} rotate(${degrees}) scale(${size(degrees)}) ${middle[1]}`);
  link.toggleAttribute("aria-current", to !== 0);
  if (to) link.setAttribute("aria-current", "true");
  link.textContent = to ? "Turn back" : "Stand the crease upright";
  if (still.matches) lay(to);
  else await play(TURN, (t) => lay(from + (to - from) * t));
}

document.addEventListener("htmx:beforeSwap", () => {
  const svg = picture();
  before = svg ? { svg: svg.cloneNode(true), fold: Number(stage().dataset.fold) } : null;
});

document.addEventListener("htmx:afterSettle", () => {
  const place = stage();
  if (!place || !before || still.matches || !place.dataset.crease) return;
  const fold = Number(place.dataset.fold);
  if (before.fold === 0 || before.fold === fold + 1) {
    if (before.fold !== fold) turnFlap(before.svg);
  }
  before = null;
});

document.addEventListener("click", (event) => {
  const link = event.target.closest("[data-tilt]");
  if (link) {
    event.preventDefault();
    event.stopPropagation();
    tilt(link);
  } else if (event.target.closest("[data-full-screen]")) {
    if (document.fullscreenElement) document.exitFullscreen();
    else document.documentElement.requestFullscreen?.();
  } else if (event.target.closest("[data-next-on-click]")) document.querySelector('[data-board] a[rel="next"]')?.click();
}, true);

document.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey || event.target.closest("input, select, textarea")) return;
  if (event.key === "t") document.querySelector("[data-tilt]")?.click();
  if (event.key === "f") document.querySelector("[data-full-screen]")?.click();
});
