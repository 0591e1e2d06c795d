// The screens by name. Those that a class begins with are here at once, the others when they are asked for.

import { screen as board } from "./board_screen.js";
import { screen as classes } from "./classes_screen.js";

const READY = { board, classes };
const ASKED = {
  group: () => import("./group_screen.js"),
  catch_up: () => import("./catch_up_screen.js"),
  end: () => import("./end_screen.js"),
  waiting: () => import("./waiting_screen.js"),
  coach: () => import("./coach_screen.js"),
  enrol: () => import("./enrol_screen.js"),
  leave: () => import("./leave_screen.js"),
};

export async function openScreen(name) {
  return READY[name] ?? (await ASKED[name]()).screen;
}
