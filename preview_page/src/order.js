// The order of assembly: a slider over its steps, and a button that plays them.
const STEP_MS = 700;
const PAUSE_MS = 350;
const FRAME_MS = 40;

export function order(view, steps, say, refresh) {
  const step = document.getElementById("step");
  const play = document.getElementById("play");
  const items = [...document.querySelectorAll("[data-step]")];
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  let timer = null;

  function show(count, off) {
    view.moves.build(count, off);
    view.section.follow();
    view.stage.draw();
  }
  function tell(count) {
    document.getElementById("at").textContent = `${count} of ${steps.length}`;
    items.forEach((item, k) => item.classList.toggle("chosen", k + 1 === count));
    if (count === 0) say("Before the first step");
    else say(`Step ${count} of ${steps.length}`, [steps[count - 1].told]);
  }
  function stop() {
    clearTimeout(timer);
    timer = null;
    play.textContent = "Play";
  }
  function next(count) {
    step.value = String(count);
    tell(count);
    const start = performance.now();
    const move = () => {
      const share = still.matches ? 1 : Math.min((performance.now() - start) / STEP_MS, 1);
      show(count, (1 - share) ** 2);
      if (share < 1) timer = setTimeout(move, FRAME_MS);
      else if (count < steps.length) timer = setTimeout(() => next(count + 1), still.matches ? STEP_MS + PAUSE_MS : PAUSE_MS);
      else stop();
    };
    move();
  }
  function together() {
    document.getElementById("apart").value = "0";
    view.explode(0);
  }
  step.addEventListener("input", () => {
    stop();
    together();
    show(Number(step.value), 0);
    tell(Number(step.value));
    refresh();
  });
  play.addEventListener("click", () => {
    if (timer !== null) return stop();
    together();
    play.textContent = "Stop";
    next(Number(step.value) < steps.length ? Number(step.value) + 1 : 1);
  });
}
