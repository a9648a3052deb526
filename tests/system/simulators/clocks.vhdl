-- SPDX-License-Identifier: GPL-3.0-or-later
-- A clock of 16 MHz and what is divided from it, as VHDL has it: std_logic.
--   clk      low at first, half period 31.25 ns: rises at 31 250 000 + 62 500 000 k fs
--   count    counts the rises of clk from 0: bit 3 rises at the 8th, and then
--            every 16th: 31 250 000 + 7 * 62 500 000 = 468 750 000 fs,
--            + 1 000 000 000 k
--   weak     pulled only: U until 10 ns, then L; H from 100 ns on for 50 ns,
--            every 100 ns: rises at 100 000 000 + 100 000 000 k fs
--   lost     as clk, but X from 2 us to 3 us
-- The end is at 10 us: clk rose 160 times (the last at 9 968 750 000 fs) and
-- fell 160 times (the last at 10 000 000 000 fs).
library ieee;
use ieee.std_logic_1164.all;
use ieee.numeric_std.all;

entity clocks is
end entity;

architecture bench of clocks is
  signal clk : std_logic := '0';
  signal count : unsigned(7 downto 0) := (others => '0');
  signal mirrored : std_logic_vector(0 to 3);
  signal weak : std_logic;
  signal lost : std_logic;
begin
  process
  begin
    wait for 31250 ps;
    clk <= not clk;
    if now >= 10 us then
      wait;
    end if;
  end process;

  process (clk)
  begin
    if rising_edge(clk) then
      count <= count + 1;
    end if;
  end process;

  -- The same bits the other way: mirrored(0) is count(3).
  mirrored <= std_logic_vector(count(3 downto 0));

  process
  begin
    wait for 10 ns;
    weak <= 'L';
    wait for 90 ns;
    loop
      weak <= 'H';
      wait for 50 ns;
      weak <= 'L';
      wait for 50 ns;
      if now >= 10 us then
        wait;
      end if;
    end loop;
  end process;

  lost <= 'X' when now >= 2 us and now < 3 us else clk;
end architecture;
