// What is drawn over a frame, from numbers in pixels of the whole file. Colours are doubled by
// shape: the ruler is a line with ticks, air has arrows, signs differ by outline.
const layerList = [
  ["body", "Body ruler", false], ["cut", "Edges that cut", true], ["limbs", "Arms and legs", false],
  ["air", "Headroom and looking room", false], ["thirds", "Thirds", false],
  ["safe", "Safe areas", false], ["reframe", "Advice as a frame", true],
];

// Args: entry; options.px: how many file pixels one screen pixel covers, for text, 0 for no text;
// options.advice: which sentence of the advice is drawn.
function layersOf(entry, { px = 0, advice = 0 } = {}) {
  const [width, height] = entry.wh;
  if (!isNumber(width) || !isNumber(height)) return null;
  const sheet = draw("svg", { class: "layers", viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true" });
  const [x, y, w, h] = entry.picture.every(isNumber) ? entry.picture : [0, 0, width, height];
  const scene = { entry, px, x, y, right: x + w, bottom: y + h, w, h, width, height, taken: [], advice };
  const flags = entry.drawn.filter((flag) => flag.edge && entry.persons[flag.person]);
  if (px) scene.taken.push(...flags.map((flag) => signBox(scene, flag))); // no label lies over a sign
  const makers = { reframe: drawReframe, thirds: drawThirds, safe: drawSafe, limbs: drawLimbs,
    body: drawBody, air: drawAir, cut: drawCuts };
  for (const [name, maker] of Object.entries(makers)) {
    const group = draw("g", { class: `l-${name}` });
    maker(scene, group);
    sheet.append(group);
  }
  return sheet;
}

function stroke(group, path, colour, more = "") {
  group.append(draw("path", { d: path, class: `halo ${more.replace("dash", "")}` }),
    draw("path", { d: path, class: `${colour} ${more}` }));
}

const line = (points) => `M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}`;
const clamp = (value, low, high) => Math.min(Math.max(value, low), Math.max(low, high));

// A label near a point, kept inside the picture; left out where another one stands already.
function label(scene, group, words, [x, y], colour, { anchor = "start", needed = false } = {}) {
  if (!scene.px) return;
  const size = 13 * scene.px, long = words.length * size * 0.58, gap = 6 * scene.px;
  const starts = { start: x + gap, middle: x - long / 2, end: x - long - gap };
  const room = ([side, rise]) => {
    const left = clamp(starts[side], scene.px * 4, scene.width - long - scene.px * 4);
    const base = clamp(y - rise * size * 1.3, size * 1.5, scene.height - size * 0.5);
    return { left, base, right: left + long, top: base - size * 1.05, bottom: base + size * 0.3 };
  };
  const free = (one) => !scene.taken.some((other) => one.left < other.right && other.left < one.right
    && one.top < other.bottom && other.top < one.bottom);
  // beside the point, then on its other side, then line by line above, then below
  const other = { start: "end", end: "start", middle: "middle" }[anchor];
  const tries = [0, 1, 2, 3, 4, 5, 6, -1, -2, -3, -4].flatMap((rise) => [[anchor, rise], [other, rise]]);
  const place = (needed ? tries : tries.slice(0, 1)).map(room).find(free) || (needed ? room([anchor, 0]) : null);
  if (!place) return;
  scene.taken.push(place);
  const text = draw("text", { x: place.left, y: place.base, class: `t-${colour}` }, words);
  text.style.fontSize = `${size}px`;
  group.append(text);
}

function drawBody(scene, group) {
  for (const person of scene.entry.persons) {
    const marks = person.ruler;
    for (let n = 1; n < marks.length; n += 1) {
      const seen = marks[n - 1][4] && marks[n][4];
      stroke(group, line([marks[n - 1].slice(2, 4), marks[n].slice(2, 4)]), "yellow",
        `${seen ? "" : "dash"} ${person.n ? "faint" : ""}`);
    }
    for (const [name, level, x, y, seen] of marks) {
      if (x < scene.x || x > scene.right || y < scene.y || y > scene.bottom) continue;
      const half = Math.max(scene.w * 0.012, 3 * scene.px);
      stroke(group, line([[x - half, y], [x + half, y]]), "yellow", `${seen ? "" : "dash"} ${person.n ? "faint" : ""}`);
      if (!person.n) label(scene, group, `${name} ${level.toFixed(2)}`, [x + half, y + 4 * scene.px], "yellow");
    }
  }
}

function drawLimbs(scene, group) {
  const chains = [["elbow", "wrist", "fingertips"], ["knee", "ankle"]];
  for (const person of scene.entry.persons) {
    const faint = person.n ? "faint" : "";
    const mark = (name) => person.ruler.find((one) => one[0] === name);
    for (const side of ["left", "right"]) {
      chains.forEach((chain, which) => {
        const root = mark(which ? "hip" : "shoulder");
        let before = root ? [root[2], root[3], root[4]] : null;
        for (const part of chain) {
          const joint = person.joints.find((one) => one[0] === part && one[1] === side);
          if (!joint) break;
          const [, , x, y, seen] = joint;
          if (before) {
            stroke(group, line([before.slice(0, 2), [x, y]]), "white", `${seen && before[2] ? "" : "dash"} ${faint}`);
          }
          group.append(draw("circle", { cx: x, cy: y, r: Math.max(scene.w * 0.005, 3 * scene.px), class: "dot" }));
          before = [x, y, seen];
        }
      });
    }
  }
}

function drawAir(scene, group) {
  const person = scene.entry.persons[0];
  if (!person) return;
  const tip = Math.max(scene.w * 0.012, 5 * scene.px);
  const [noseX, noseY] = person.nose;
  if (isNumber(person.headroom_frac) && isNumber(noseX)) {
    const crown = scene.y + person.headroom_frac * scene.h;
    const [from, to] = [scene.y, Math.max(crown, scene.y)];
    stroke(group, `${line([[noseX, from], [noseX, to]])}${line([[noseX - tip, to], [noseX + tip, to]])}`
      + line([[noseX - tip, from + tip], [noseX, from], [noseX + tip, from + tip]]), "blue");
    const words = `${crown < scene.y ? "" : "headroom "}${airWords(person.headroom_frac)}`;
    label(scene, group, words, [noseX + tip, (from + to) / 2 + 5 * scene.px], "blue", { needed: true });
  }
  const ahead = person.look_ahead_wfrac, ratio = person.look_room_frac, yaw = person.head_yaw_deg;
  if (!isNumber(ahead) || !isNumber(ratio) || !isNumber(yaw)) return;
  const way = yaw > 0 ? 1 : -1;
  const edge = way > 0 ? scene.right : scene.x, rear = way > 0 ? scene.x : scene.right;
  const face = edge - way * ahead * scene.w;
  const back = rear + way * Math.min(scene.w, (ahead * scene.w) / Math.max(ratio, 0.01));
  const y = noseY;
  stroke(group, `${line([[face, y], [edge, y]])}${line([[edge - way * tip, y - tip], [edge, y], [edge - way * tip, y + tip]])}`, "blue");
  stroke(group, line([[back, y], [rear, y]]), "blue", "dash");
  label(scene, group, `ahead ${percent(ahead)}`, [(face + edge) / 2, y - 7 * scene.px], "blue", { anchor: "middle" });
  label(scene, group, `${ratio.toFixed(1)} : 1`, [(back + rear) / 2, y - 7 * scene.px], "blue", { anchor: "middle" });
}

function drawThirds(scene, group) {
  const at = (share) => [scene.x + share * scene.w, scene.y + share * scene.h];
  for (const share of [1 / 3, 2 / 3]) {
    const [x, y] = at(share);
    stroke(group, `${line([[x, scene.y], [x, scene.bottom]])}${line([[scene.x, y], [scene.right, y]])}`, "white", "faint");
  }
}

function drawSafe(scene, group) {
  for (const [inset, dash, words] of [[0.035, "", "action"], [0.05, "dash", "graphics"]]) {
    const [x, y] = [scene.x + inset * scene.w, scene.y + inset * scene.h];
    const [right, bottom] = [scene.right - inset * scene.w, scene.bottom - inset * scene.h];
    stroke(group, `${line([[x, y], [right, y], [right, bottom], [x, bottom]])}Z`, "white", `${dash} faint`);
    label(scene, group, words, [right, words === "action" ? bottom - 4 * scene.px : y + 15 * scene.px], "white", { anchor: "end" });
  }
}

function drawReframe(scene, group) {
  const said = scene.entry.advice.filter((piece) => piece.box)[scene.advice];
  if (!said) return;
  const [x, y, w, h] = said.box;
  const inner = [clamp(x, 0, scene.width), clamp(y, 0, scene.height), clamp(x + w, 0, scene.width), clamp(y + h, 0, scene.height)];
  group.append(draw("path", { class: "shade", "fill-rule": "evenodd",
    d: `M0 0H${scene.width}V${scene.height}H0ZM${inner[0]} ${inner[1]}V${inner[3]}H${inner[2]}V${inner[1]}Z` }));
  // Only what moves is drawn strong. A card has no room outside its picture: there the edge stays at
  // its rim, and an arrow says that it lies beyond.
  const inset = scene.px ? 0 : scene.w * 0.004, still = 1.5;
  const keep = (value, most) => (scene.px ? value : clamp(value, inset, most - inset));
  const [left, top, right, bottom] = [keep(x, scene.width), keep(y, scene.height), keep(x + w, scene.width), keep(y + h, scene.height)];
  const edges = [[Math.abs(x - scene.x), [[left, top], [left, bottom]]], [Math.abs(y - scene.y), [[left, top], [right, top]]],
    [Math.abs(x + w - scene.right), [[right, top], [right, bottom]]], [Math.abs(y + h - scene.bottom), [[left, bottom], [right, bottom]]]];
  if (scene.px) stroke(group, `${line([[left, top], [right, top], [right, bottom], [left, bottom]])}Z`, "orange", "dash faint");
  for (const [moved, ends] of edges) if (moved > still) stroke(group, line(ends), "orange", scene.px ? "" : "dash");
  if (!scene.px) drawBeyond(scene, group, [x, y, x + w, y + h]);
}

function drawBeyond(scene, group, [x, y, right, bottom]) {
  const inset = scene.w * 0.004, tip = scene.w * 0.018;
  const inside = (value, most) => clamp(value, inset, most - inset);
  const middle = [(inside(x, scene.width) + inside(right, scene.width)) / 2, (inside(y, scene.height) + inside(bottom, scene.height)) / 2];
  const ways = [[x < -1, [inset, middle[1]], [-1, 0]], [right > scene.width + 1, [scene.width - inset, middle[1]], [1, 0]],
    [y < -1, [middle[0], inset], [0, -1]], [bottom > scene.height + 1, [middle[0], scene.height - inset], [0, 1]]];
  for (const [beyond, [ex, ey], [dx, dy]] of ways) {
    if (!beyond) continue;
    stroke(group, `${line([[ex - dx * tip * 2, ey - dy * tip * 2], [ex, ey]])}${line([[ex - dx * tip + dy * tip, ey - dy * tip + dx * tip], [ex, ey],
      [ex - dx * tip - dy * tip, ey - dy * tip - dx * tip]])}`, "orange");
  }
}

function drawCuts(scene, group) {
  const [width, height] = [scene.width, scene.height];
  if (scene.w < width - 1 || scene.h < height - 1) {
    stroke(group, `${line([[scene.x, scene.y], [scene.right, scene.y], [scene.right, scene.bottom], [scene.x, scene.bottom]])}Z`, "white", "faint");
  }
  if (scene.entry.persons.length > 1) {
    for (const person of scene.entry.persons) {
      const [left, top, width] = person.box;
      if (person.box.every(isNumber)) label(scene, group, person.n ? `person ${person.n}` : "main", [left + width / 2, Math.max(top, scene.y) + 16 * scene.px], "white", { anchor: "middle", needed: true });
    }
  }
  scene.entry.drawn.filter((flag) => flag.edge).forEach((flag) => drawSign(scene, group, flag));
  const pull = Math.max(scene.w * 0.004, 2.5 * scene.px);
  for (const person of scene.entry.persons) {
    const faint = person.n ? "faint" : "", box = person.box;
    if (!box.every(isNumber)) continue;
    const [left, right] = [clamp(box[0], scene.x, scene.right), clamp(box[0] + box[2], scene.x, scene.right)];
    if (isNumber(person.crop_level) && person.crop_level >= 0 && person.crop_level <= 1) {
      stroke(group, line([[left, scene.bottom - pull], [right, scene.bottom - pull]]), "yellow", `bar ${faint}`);
      if (!person.n) label(scene, group, `cut ${person.crop_level.toFixed(2)} ${scene.entry.place}`, [(left + right) / 2, scene.bottom - 12 * scene.px], "yellow", { anchor: "middle", needed: true });
    }
    if (person.n) continue;
    if (isNumber(person.top_level) && person.top_level < 1) {
      stroke(group, line([[left, scene.y + pull], [right, scene.y + pull]]), "yellow", "bar");
      label(scene, group, `top cuts ${person.top_level.toFixed(2)}`, [(left + right) / 2, scene.y + 20 * scene.px], "yellow", { anchor: "middle" });
    }
    for (const [level, x] of [[person.left_cut, scene.x + pull], [person.right_cut, scene.right - pull]]) {
      if (isNumber(level)) stroke(group, line([[x, clamp(box[1], scene.y, scene.bottom)], [x, clamp(box[1] + box[3], scene.y, scene.bottom)]]), "yellow", "bar");
    }
  }
}

function drawSign(scene, group, flag) {
  const person = scene.entry.persons[flag.person];
  if (!person) return;
  const [x, y] = signPlace(scene, person, flag), r = signRadius(scene);
  const outline = { high: `M${x} ${y - r}L${x + r} ${y + r * 0.8}L${x - r} ${y + r * 0.8}Z`,
    medium: `M${x} ${y - r}L${x + r} ${y}L${x} ${y + r}L${x - r} ${y}Z` }[flag.severity]
    || `M${x - r * 0.7} ${y}a${r * 0.7} ${r * 0.7} 0 1 0 ${r * 1.4} 0a${r * 0.7} ${r * 0.7} 0 1 0 ${-r * 1.4} 0Z`;
  group.append(draw("path", { d: outline, class: "sign" }));
  label(scene, group, flagWords({ ...flag, edge: "" }), x > scene.x + scene.w * 0.75 ? [x - r, y + 5 * scene.px] : [x + r, y + 5 * scene.px], "orange", { needed: true, anchor: x > scene.x + scene.w * 0.75 ? "end" : "start" });
}

const signRadius = (scene) => Math.max(scene.w * 0.012, 7 * scene.px);

function signBox(scene, flag) {
  const [x, y] = signPlace(scene, scene.entry.persons[flag.person], flag), r = signRadius(scene);
  return { left: x - r, right: x + r, top: y - r, bottom: y + r };
}

// On the edge that cuts, at the part where its place is known.
function signPlace(scene, person, flag) {
  const joint = person.joints.find((one) => one[0] === flag.part);
  const box = person.box;
  const centre = joint ? [joint[2], joint[3]] : [box[0] + box[2] / 2, box[1] + box[3] / 2];
  if (flag.part === "headroom" || flag.part === "chin" || flag.part === "crown") centre[0] = person.nose[0];
  if (flag.part === "looking room") centre[1] = person.nose[1];
  const rim = Math.max(scene.w * 0.02, 12 * scene.px);
  const at = { top: [centre[0], scene.y], bottom: [centre[0], scene.bottom], left: [scene.x, centre[1]], right: [scene.right, centre[1]] }[flag.edge] || centre;
  return [clamp(at[0], scene.x + rim, scene.right - rim), clamp(at[1], scene.y + rim, scene.bottom - rim)];
}
