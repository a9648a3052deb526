// SPDX-License-Identifier: GPL-3.0-or-later
// A clock that is only a bit of a bus, and one a divider by 3 makes. 1 tick is
// 1 ps.
//   osc    half period 20 833 ticks: rises at 20 833 + 41 666 k
//   bus    counts the rises of osc from 0: bit 3 rises at the 8th and then
//          every 16th: 20 833 + 7 * 41 666 = 312 495, + 666 656 k
//   third  high for one period of osc in three, from the first rise on:
//          rises at 20 833 + 124 998 k, falls 41 666 later
// The end is at 20 000 000 ticks, between edges: osc rose 480 times (the last
// at 20 833 + 479 * 41 666 = 19 978 847) and fell 480 times, the last at
// 19 999 680.
`timescale 1ps / 1ps
module bus_clock;
  reg osc = 0;
  reg [7:0] bus = 0;
  reg [1:0] step = 0;
  reg third = 0;
  wire [0:7] turned = bus;

  always #20833 osc = !osc;
  always @(posedge osc) begin
    bus <= bus + 1;
    step <= step == 2 ? 0 : step + 1;
    third <= step == 0;
  end

  initial begin
    $dumpfile("bus_clock.vcd");
    $dumpvars(0, bus_clock);
    #20000000 $finish;
  end
endmodule
