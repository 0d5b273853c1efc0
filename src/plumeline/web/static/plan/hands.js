// Pointers on a drawing: a thing is dragged or tapped, the ground is tapped, two fingers bring it closer and move it aside;
// one finger on the ground scrolls the page up and down.
const STILL_PX = 4;

export function hands(view, { dragged, dropped, tapped, tappedAt, cancelled }) {
  const fingers = new Map();
  let drag = null;
  let frame = 0;
  const by = (event) => {
    const here = view.fromScreen(event);
    return [here.x_m - drag.start.x_m, here.y_m - drag.start.y_m];
  };
  // a handle goes before a line
  const caught = (event) => view.nearest(event) ?? view.grasp(event);
  const stopped = () => {
    if (frame) cancelAnimationFrame(frame);
    frame = 0;
    if (drag && drag.name !== null && drag.moved) cancelled();
    drag = null;
  };

  // what a finger can catch is wider than what is drawn, so the style sheet alone can't say where the page must not scroll
  view.svg.addEventListener("touchstart", (event) => {
    if (event.cancelable && (event.touches.length > 1 || caught(event.touches[0]) !== null)) event.preventDefault();
  }, { passive: false });

  view.svg.addEventListener("pointerdown", (event) => {
    if (event.button > 0) return;
    fingers.set(event.pointerId, event);
    view.svg.setPointerCapture(event.pointerId);
    if (fingers.size > 1) {
      stopped();
      return;
    }
    const name = caught(event);
    drag = { name, from: event, moved: false, start: view.fromScreen(event), last: event };
    if (name !== null) view.byName.get(name)?.group.focus({ preventScroll: true });
  });

  view.svg.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    if (fingers.size === 2) pinched(event);
    else if (drag) moved(event);
    fingers.set(event.pointerId, event);
  });

  function pinched(event) {
    const other = [...fingers.entries()].find(([id]) => id !== event.pointerId)[1];
    const before = fingers.get(event.pointerId);
    const far = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
    const middle = { clientX: (before.clientX + other.clientX) / 2, clientY: (before.clientY + other.clientY) / 2 };
    if (far(before) > 0) view.zoom(far(event) / far(before), view.paper(middle));
    view.pan((event.clientX - before.clientX) / 2, (event.clientY - before.clientY) / 2);
  }

  function moved(event) {
    if (!drag.moved && Math.hypot(event.clientX - drag.from.clientX, event.clientY - drag.from.clientY) < STILL_PX) return;
    drag.moved = true;
    if (drag.name === null) view.pan(event.clientX - drag.last.clientX, event.clientY - drag.last.clientY);
    else if (!frame) {
      frame = requestAnimationFrame(() => {
        frame = 0;
        if (drag) dragged(drag.name, ...by(drag.last));
      });
    }
    drag.last = event;
  }

  view.svg.addEventListener("pointerup", (event) => {
    if (!fingers.delete(event.pointerId) || !drag) return;
    if (frame) cancelAnimationFrame(frame);
    frame = 0;
    const was = drag;
    const far_m = by(event);
    drag = null;
    if (was.moved && was.name !== null) dropped(was.name, ...far_m);
    else if (!was.moved && was.name !== null) tapped(was.name, view.fromScreen(event));
    else if (!was.moved) tappedAt(view.fromScreen(event));
  });

  view.svg.addEventListener("pointercancel", (event) => {
    fingers.delete(event.pointerId);
    stopped();
  });

  // the wheel alone scrolls the page; with Ctrl it brings the drawing closer, as a pinch on a touch pad does
  view.svg.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && view.scale === 1 && event.deltaY > 0) return;
    event.preventDefault();
    view.zoom(event.deltaY < 0 ? 1.25 : 0.8, view.paper(event));
  }, { passive: false });
}
