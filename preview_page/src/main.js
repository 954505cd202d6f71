// The page: everything in it was written by the program; this only adds the picture that can be turned.
import { desk } from "./desk.js";
import { follow } from "./live.js";
import { loaded } from "./model.js";
import { order } from "./order.js";
import { View } from "./view.js";

const $ = (id) => document.getElementById(id);

async function start() {
  const data = JSON.parse($("data").textContent);
  document.body.classList.add("live");
  $("stages").hidden = false;
  if (data.events) return follow(data);
  const now = new View($("stage-now"), data.now, await loaded($("model-now").textContent), null);
  const views = [now];
  if (data.before) views.push(new View($("stage-before"), data.before, await loaded($("model-before").textContent), now));
  $("still").hidden = true;
  const { say, refresh } = desk(views);
  if ($("step")) order(now, data.now.steps, say, refresh);
}

start().catch((error) => {
  document.body.classList.remove("live");
  $("stages").hidden = true;
  for (const id of ["still", "still-note"]) if ($(id)) $(id).hidden = false;
  console.error(error);
});
