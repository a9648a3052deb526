// SPDX-License-Identifier: GPL-3.0-or-later
// A clock that is unknown at first, stops in mid-run and runs again; and a
// stretch in which dumping is off. No `timescale: one tick is 1 s.
//   0      clk is x
//   100    clk is 0; then it rises at 104 + 8 k and falls at 108 + 8 k
//   902    stopped: the last rise was 104 + 8 * 99 = 896, its fall 900
//   1702   on again: it rises at 1704 + 8 k and falls at 1708 + 8 k
//   2502   dumping is off: the last rise was 1704 + 8 * 99 = 2496, its fall 2500
//   3302   dumping is on, clk is 0: it rises at 3304 + 8 k
//   4002   the end: the last rise was 3304 + 8 * 87 = 4000
module stop;
  reg clk;
  reg run = 1;

  initial begin
    #100 clk = 0;
    forever begin
      #4 if (run) clk = 1;
      #4 if (run) clk = 0;
    end
  end

  initial begin
    #902 run = 0;
    #800 run = 1;
  end

  initial begin
    $dumpfile("stop.vcd");
    $dumpvars(0, stop);
    #2502 $dumpoff;
    #800 $dumpon;
    #700 $finish;
  end
endmodule
