// Box, lid and clip of the board. Millimetres. One solid for each value of `part`:
//
//   openscad -D 'part="tray"' -o tray.stl case.scad
//
// tray, lid, clip_along (rod upright when the lid looks up), clip_across (rod lies flat then).
// bodies_tray, bodies_lid, bodies_clip must come out empty: they are what would not fit.
// All parts print as they lie, without support.

part = "tray";

// --- what goes in: measure yours ---------------------------------------------------------
board = [70, 50, 1.6];     // perfboard, the common size of 7 by 5 cm
board_holes = [66, 46];    // between the centres of its corner holes
cell = [50, 34, 8];        // soft, and it grows by a tenth with age: it must lie loose
processor = [51, 21, 1];   // its USB socket at the board's right edge
processor_y = -1.27;       // of its middle; a test holds this against the perfboard's plan
socket_tall = 8.5;         // row of sockets under the processor
usb = [9, 3.2];            // the socket itself
usb_plug = [13, 8];        // the largest plug that has to pass
cable = 6;                 // diameter of the thickest cable
button = 12.2;             // hole in the lid
button_deep = 15;          // what hangs below the lid
lamp = 5.2;
switch_slot = [9, 4];
switch_holes = 15;
beeper_at = [23, 18];      // over the beeper; a test holds this, too
rod = 10;                  // of the magnetic base; 8, 10 and 12 are usual (common practice)

// --- the box ------------------------------------------------------------------------------
wall = 2.4;
round_r = 4;
play = 2;                  // around the board
solder = 2.5;              // below the board
post_tall = cell[2] * 1.1 + solder;
inner = [board[0] + 2 * play, board[1] + 2 * play, 31];
ear = 7;                   // for the lid's screws, outside
screw = 3.2;               // through the lid
screw_core = 2.5;          // cut by the screw itself
lip = 3;
gap = 0.25;                // between parts that slide

// --- the clip -----------------------------------------------------------------------------
rail = [16, 4, 22];        // wide at the outside, deep, long
clip_wall = 3.4;
clip_tall = 18;
mouth = 0.80;              // opening as a part of the rod: it snaps
$fn = 64;
e = 0.01;

board_z = wall + post_tall;
usb_z = board_z + board[2] + socket_tall + processor[2] + usb[1] / 2;
ear_x = inner[0] / 2 + wall + ear / 2 - 1.5;
ear_y = inner[1] / 2 - 4;

module rounded(x, y, z, r) {
  linear_extrude(z) offset(r) square([x - 2 * r, y - 2 * r], center = true);
}

module corners(x, y) {
  for (i = [-1, 1], j = [-1, 1]) translate([i * x, j * y, 0]) children();
}

module outline(z) {
  rounded(inner[0] + 2 * wall, inner[1] + 2 * wall, z, round_r);
  corners(ear_x, ear_y) cylinder(d = ear, h = z);
}

// A round hole through a wall, with a peak so that it prints without support.
module teardrop(d, long) {
  rotate([90, 0, 0]) linear_extrude(long, center = true) {
    circle(d = d);
    rotate(45) square(d / 2);
  }
}

// 45 degrees on both sides, so that it prints upright and lying.
module dovetail(grow, long) {
  w = rail[0] / 2 + grow;
  linear_extrude(long)
    polygon([[-w + rail[1], 0], [w - rail[1], 0], [w, -rail[1]], [-w, -rail[1]]]);
}

module tray() {
  difference() {
    union() {
      difference() {
        outline(inner[2] + wall);
        translate([0, 0, wall]) rounded(inner[0], inner[1], inner[2] + 1, round_r - 1);
      }
      corners(board_holes[0] / 2, board_holes[1] / 2) cylinder(d = 6, h = board_z);
      translate([0, -inner[1] / 2 - wall + e, 0]) dovetail(0, rail[2]);
    }
    corners(board_holes[0] / 2, board_holes[1] / 2)
      translate([0, 0, wall + 2]) cylinder(d = 1.8, h = board_z);
    corners(ear_x, ear_y) translate([0, 0, inner[2] + wall - 14]) cylinder(d = screw_core, h = 20);
    // USB: open to the top, the lid closes it
    translate([inner[0] / 2 - 1, processor_y - usb_plug[0] / 2, usb_z - usb_plug[1] / 2])
      cube([wall + ear, usb_plug[0], inner[2]]);
    // cables, above the board: two to the left, two to the back
    for (y = [-13, 13]) translate([-inner[0] / 2 - wall / 2, y, board_z + 8])
      rotate(90) teardrop(cable + 0.5, 3 * wall);
    for (x = [-18, 18]) translate([x, inner[1] / 2 + wall / 2, board_z + 8])
      teardrop(cable + 0.5, 3 * wall);
  }
}

// Prints with its face down, so its inside looks up.
module lid() {
  difference() {
    union() {
      outline(wall);
      translate([0, 0, wall - e]) difference() {
        rounded(inner[0] - 2 * gap, inner[1] - 2 * gap, lip, round_r - 1);
        translate([0, 0, -1])
          rounded(inner[0] - 2 * gap - 4, inner[1] - 2 * gap - 4, lip + 2, round_r - 2);
      }
    }
    corners(ear_x, ear_y) translate([0, 0, -1]) cylinder(d = screw, h = 10);
    // y is mirrored: what stands here at +y lies at -y once the lid is on
    translate([-26, 0, -1]) cylinder(d = button, h = 10);
    for (y = [-6, 6]) translate([-8, y, -1]) cylinder(d = lamp, h = 10);
    translate([14, 17, -1]) {
      translate([-switch_slot[0] / 2, -switch_slot[1] / 2, 0])
        cube([switch_slot[0], switch_slot[1], 10]);
      for (i = [-1, 1]) translate([i * switch_holes / 2, 0, 0]) cylinder(d = 2.2, h = 10);
    }
    translate([beeper_at[0], -beeper_at[1], -1]) {
      cylinder(d = 2, h = 10);
      for (a = [0 : 60 : 300]) rotate(a) translate([3.5, 0, 0]) cylinder(d = 2, h = 10);
    }
    // the plug's top
    translate([inner[0] / 2 - 4, -processor_y - usb_plug[0] / 2, wall])
      cube([10, usb_plug[0], lip + 1]);
  }
}

// A ring with a mouth, its axis upright; the block at +y takes the box's rail.
module ring() {
  od = rod + 2 * clip_wall;
  difference() {
    union() {
      cylinder(d = od, h = clip_tall);
      translate([-rail[0] / 2 - 3, 0, 0]) cube([rail[0] + 6, od / 2 + rail[1] + 1, clip_tall]);
    }
    translate([0, 0, -1]) cylinder(d = rod + 0.1, h = clip_tall + 2);
    translate([-rod * mouth / 2, -od, -1]) cube([rod * mouth, od, clip_tall + 2]);
    // the mouth opens outwards, so that the rod finds its way
    translate([0, -od / 2 + 0.2, -1]) rotate(45)
      cube([rod * mouth * 0.8, rod * mouth * 0.8, 2 * (clip_tall + 2)], center = true);
  }
}

module clip_along() {
  difference() {
    ring();
    translate([0, (rod + 2 * clip_wall) / 2 + rail[1] + 1 + e, 2]) dovetail(gap, clip_tall);
  }
}

module clip_across() {
  difference() {
    ring();
    translate([-20, (rod + 2 * clip_wall) / 2 + rail[1] + 1 + e, clip_tall / 2])
      rotate([0, 90, 0]) dovetail(gap, 40);
  }
}

module contents() {
  translate([-cell[0] / 2, -cell[1] / 2, wall + e]) cube([cell[0], cell[1], cell[2] * 1.1]);
  translate([-board[0] / 2, -board[1] / 2, board_z + e]) cube(board);
  translate([
    board[0] / 2 - processor[0] + 1.3, processor_y - processor[1] / 2,
    board_z + board[2] + socket_tall
  ]) cube([processor[0], processor[1], processor[2] + usb[1]]);
  // the plug, pushed home
  translate([board[0] / 2 + 1.5, processor_y - usb_plug[0] / 2 + e, usb_z - usb_plug[1] / 2 + e])
    cube([30, usb_plug[0] - 2 * e, usb_plug[1] - 2 * e]);
}

module lid_on() {
  translate([0, 0, inner[2] + 2 * wall + e]) rotate([180, 0, 0]) lid();
}

module button_body() {
  translate([-26, 0, inner[2] + wall - button_deep]) cylinder(d = 14, h = button_deep - e);
}

if (part == "tray") tray();
if (part == "lid") lid();
if (part == "clip_along") clip_along();
if (part == "clip_across") clip_across();
if (part == "bodies_tray") intersection() { tray(); contents(); }
if (part == "bodies_lid") intersection() {
  lid_on();
  union() { tray(); contents(); }
}
if (part == "bodies_button") intersection() {
  button_body();
  union() { tray(); contents(); }
}
if (part == "bodies_clip") intersection() {
  tray();
  // the box rests on the stop at the lower end of the groove
  translate([0, -inner[1] / 2 - wall - (rod + 2 * clip_wall) / 2 - rail[1] - 1 - e, -2 - e])
    clip_along();
}
if (part == "picture") {
  color("silver") translate([0, -inner[1] / 2 - wall - (rod + 2 * clip_wall) / 2 - rail[1] - 1, -60])
    cylinder(d = rod, h = 130);
  color("darkorange") translate([0, -inner[1] / 2 - wall - (rod + 2 * clip_wall) / 2 - rail[1] - 1, -2])
    clip_along();
  color("steelblue") tray();
  color("green") contents();
  color("steelblue") translate([0, 0, 45]) lid_on();
}
