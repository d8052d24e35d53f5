// The board's own part of what is compiled; design.py puts its names in at the dollar signs.

#include "design.cc"
#include <cstdint>
#include <cstddef>

namespace {

using cxxrtl::memory;
using cxxrtl::value;
using cxxrtl::wire;

struct Bit { uint32_t* now; uint32_t* next; int bit; };

template <size_t N> Bit at(value<N>& v, int bit) {
  return Bit{v.data + bit / 32, v.data + bit / 32, bit % 32};
}
template <size_t N> Bit at(wire<N>& w, int bit) {
  return Bit{w.curr.data + bit / 32, w.next.data + bit / 32, bit % 32};
}
template <size_t N> const value<N>& now(const value<N>& v) { return v; }
template <size_t N> const value<N>& now(const wire<N>& w) { return w.curr; }
template <class E, class A, class D, size_t N>
bool writes(const E& enable, const A& address, const D& data, memory<N>& held, uint32_t words) {
  if (!(now(enable).data[0] & 1)) return false;
  const uint32_t place = now(address).data[0];
  if (place >= words) return false;
  for (size_t k = 0; k < value<N>::chunks; k++)
    if (held.data[place].data[k] != now(data).data[k]) return true;
  return false;
}
template <size_t N> uint64_t get(memory<N>& held, uint64_t address, uint32_t words) {
  if (address >= words) return 0;
  uint64_t found = 0;
  for (size_t k = 0; k < value<N>::chunks && k < 2; k++)
    found |= uint64_t(held.data[address].data[k]) << (32 * k);
  return found;
}
template <size_t N> void put(memory<N>& held, uint64_t address, uint32_t words, uint64_t word) {
  for (size_t k = 0; address < words && k < value<N>::chunks && k < 2; k++)
    held.data[address].data[k] = uint32_t(word >> (32 * k));
}

struct Design {
  static const int WIDTH = $width, FREE = $free, TICKS = $ticks;
  static const bool CONVERGES = $converges;
  cxxrtl_design::p_board t;
  Bit row[$width] = {
      $row
  };
  Bit free[$free_size] = {
      $free_bits
  };
  Bit kept[$kept_size] = {
      $kept_bits
  };
  bool look(int place) const { return *row[place].now >> row[place].bit & 1; }
  static void set(const Bit& b, bool level) {
    *b.now = (*b.now & ~(uint32_t(1) << b.bit)) | uint32_t(level) << b.bit;
    *b.next = (*b.next & ~(uint32_t(1) << b.bit)) | uint32_t(level) << b.bit;
  }
  bool set_control(int place, bool level) {
    const bool moved = look(place) != level;
    set(row[place], level);
    return moved;
  }
  void set_free(int number, bool level) { set(free[number], level); }
  int set_store(int number, bool level) {
    set(kept[number], level);
    return 0;
  }
  uint64_t word(int memory, uint64_t address) {
    switch (memory) {
$read
    }
    return 0;
  }
  void set_word(int memory, uint64_t address, uint64_t word) {
    switch (memory) {
$write
    }
  }
  void before_edge() {
    if (!CONVERGES) {
      t.p_clk.data[0] = t.prev_p_clk.data[0] = 0;
      do t.eval(); while (t.commit());
    }
    t.prev_p_clk.data[0] = 0;
    t.p_clk.data[0] = 1;
    t.eval();
  }
  void settle() {
    for (int k = 1; k < TICKS; k++) {
      before_edge();
      t.commit();
    }
    before_edge();
  }
  bool advance() {
    const bool more = $changes;
    t.commit();
    return more;
  }
};

}  // namespace

