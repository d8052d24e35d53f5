// Plays a program on a compiled board. Included behind the board's own part, which defines `Design`
// (see compiled.py); the same rules as bench_player.py, which see.

#include <cstdint>
#include <vector>

namespace {

enum Op { END, SET, TOGGLE, STEP, CHECK, REPEAT, NEXT, LEAVE, WHEN, OVERRUN, RECORD };
enum Reason { PAUSED, ENDED, CHECK_FAILED, BREAK, OVERRAN, RESTLESS };
enum Kind { LEAF = 1, NOT = 2, AND = 3, OR = 4, XOR = 5, READ = 6, KEPT = 7 };

const int MAX_ROUNDS = 200;
const size_t FULL = 1 << 22;  // bytes of records after which it pauses

struct Player {
  Design board;
  std::vector<int32_t> code;        // four numbers an instruction: op, a, b, entry
  std::vector<int32_t> formulas;    // see fast_player.py
  std::vector<int32_t> conditions;  // where in `formulas` each begins
  std::vector<int32_t> breaks;
  std::vector<int32_t> remembered, gathered;  // pairs: node of the leaf, place in `formulas`
  std::vector<uint8_t> level;                 // of each node
  std::vector<int32_t> held;                  // for each node the round it first held in, or -1
  std::vector<int32_t> loops;  // times left of each
  std::vector<uint8_t> records;
  uint64_t seed = 0;
  int64_t step = -1, rounds = 0, limit = 0;
  int32_t place = 0, condition = -1;
  bool seeded = false, touched = false, every_round = false;

  // Formulas: at `place` stands how many nodes follow, then for each its kind, number, how many
  // arguments it has, and these; behind them the number of the root.
  bool holds(int32_t at) {
    const int32_t* p = &formulas[at];
    for (int32_t left = *p++; left > 0; left--) {
      const int32_t kind = p[0], node = p[1], count = p[2];
      const int32_t* a = p + 3;
      p = a + count;
      bool found = false;
      switch (kind) {
        case LEAF: found = board.look(a[0]); break;
        case NOT: found = !level[a[0]]; break;
        case AND:
          found = true;
          for (int32_t k = 0; k < count; k++) found = found && level[a[k]];
          break;
        case OR:
          for (int32_t k = 0; k < count; k++) found = found || level[a[k]];
          break;
        case XOR: found = level[a[0]] != level[a[1]]; break;
        case READ: {
          uint64_t address = 0;
          for (int32_t k = 2; k < count; k++) address = address << 1 | level[a[k]];
          found = board.word(a[0], address) >> a[1] & 1;
          break;
        }
        case KEPT: continue;
      }
      level[node] = found;
    }
    return level[*p];
  }

  static bool free_level(uint64_t seed, uint64_t step, uint64_t reader) {
    uint64_t z = seed + step * 0x9E3779B97F4A7C15u + reader * 0xD1B54A32D192ED03u;
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9u;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBu;
    return (z ^ (z >> 31)) & 1;
  }

  void record(int32_t entry, int32_t number, bool whole) {
    auto put = [this](int64_t value, int bytes) {
      for (int k = 0; k < bytes; k++) records.push_back(uint8_t(value >> (8 * k)));
    };
    put(step, 8);
    put(rounds, 8);
    put(entry, 4);
    put(number, 3);
    put(whole, 1);
    uint8_t byte = 0;
    for (int k = 0; k < Design::WIDTH; k++) {
      byte |= board.look(k) << (k & 7);
      if ((k & 7) == 7 || k == Design::WIDTH - 1) {
        records.push_back(byte);
        byte = 0;
      }
    }
  }

  void remember() {
    std::vector<uint8_t> next;
    for (size_t k = 0; k < remembered.size(); k += 2) next.push_back(holds(remembered[k + 1]));
    for (size_t k = 0; k < remembered.size(); k += 2) level[remembered[k]] = next[k / 2];
  }

  void gather(int32_t number) {
    for (size_t k = 0; k < gathered.size(); k += 2) {
      const int32_t leaf = gathered[k];
      const bool now = holds(gathered[k + 1]);
      if (step == 0) {
        level[leaf] = now;
      } else if (now && !level[leaf]) {
        level[leaf] = 1;
        held[leaf] = number;
      }
    }
  }

  bool one_step(int32_t entry) {  // whether the board got quiet
    touched = false;
    step++;
    if (step && !remembered.empty()) remember();
    for (size_t k = 0; k < gathered.size(); k += 2) {
      level[gathered[k]] = 0;
      held[gathered[k]] = -1;
    }
    if (seeded)
      for (int k = 0; k < Design::FREE; k++) board.set_free(k, free_level(seed, step, k));
    for (int number = 0; number < MAX_ROUNDS; number++) {
      board.settle();
      rounds++;
      if (!gathered.empty()) gather(number);
      if (every_round) record(entry, number, false);
      if (!board.advance()) return true;
    }
    return false;
  }

  int play(int64_t most) {
    const int64_t end = rounds + most;
    records.clear();
    for (;;) {
      const int32_t* one = &code[4 * place];
      const int32_t a = one[1], b = one[2];
      if (one[0] == STEP && (rounds >= end || records.size() > FULL)) return PAUSED;
      place++;
      switch (one[0]) {
        case END: place--; return ENDED;
        case SET: touched |= board.set_control(a, b); break;
        case TOGGLE: touched |= board.set_control(a, !board.look(a)); break;
        case STEP:
          if (!touched && !a) break;
          if (!one_step(one[3])) return RESTLESS;
          if (b) record(one[3], 0, true);
          for (int32_t which : breaks)
            if (holds(conditions[which])) {
              condition = which;
              return BREAK;
            }
          break;
        case CHECK:
          if (holds(conditions[a])) break;
          condition = a;
          return CHECK_FAILED;
        case REPEAT:
          if (a) loops.push_back(a); else place = b;
          break;
        case NEXT:
          if (--loops.back()) place = a; else loops.pop_back();
          break;
        case LEAVE:
        case WHEN:
          if (!holds(conditions[a])) break;
          place = b;
          if (one[0] == LEAVE) loops.pop_back();
          break;
        case OVERRUN: condition = a; return OVERRAN;
        case RECORD: record(one[3], 0, true); break;
      }
    }
  }
};

}  // namespace

extern "C" {

void* player_open() { return new Player; }
void player_close(void* p) { delete static_cast<Player*>(p); }

void player_load(void* p, int which, const int32_t* numbers, int64_t count) {
  Player& player = *static_cast<Player*>(p);
  std::vector<int32_t> found(numbers, numbers + count);
  switch (which) {
    case 0: player.code = found; break;
    case 1: player.formulas = found; break;
    case 2: player.conditions = found; break;
    case 3: player.breaks = found; break;
    case 4: player.remembered = found; break;
    case 5: player.gathered = found; break;
    case 6:  // number of nodes, and the one that holds in the first step
      player.level.assign(found[0], 0);
      player.held.assign(found[0], -1);
      player.level[1] = 1;
      player.level[found[1]] = 1;
      break;
    case 7: player.every_round = found[0]; break;
  }
}

void player_seed(void* p, uint64_t seed) {
  Player& player = *static_cast<Player*>(p);
  player.seed = seed;
  player.seeded = true;
}

int player_store(void* p, int number, int level) {
  return static_cast<Player*>(p)->board.set_store(number, level);
}
void player_control(void* p, int place, int level) {
  static_cast<Player*>(p)->board.set_control(place, level);
}
void player_words(void* p, int memory, const uint64_t* words, int64_t count) {
  for (int64_t k = 0; k < count; k++) static_cast<Player*>(p)->board.set_word(memory, k, words[k]);
}
uint64_t player_word(void* p, int memory, uint64_t address) {
  return static_cast<Player*>(p)->board.word(memory, address);
}
int player_play(void* p, int64_t most) { return static_cast<Player*>(p)->play(most); }
int64_t player_number(void* p, int which) {
  Player& player = *static_cast<Player*>(p);
  switch (which) {
    case 0: return player.step;
    case 1: return player.rounds;
    case 2: return player.place;
    case 3: return player.condition;
    case 4: return player.records.size();
    default: return 0;
  }
}
const uint8_t* player_records(void* p) { return static_cast<Player*>(p)->records.data(); }
int player_level(void* p, int node) { return static_cast<Player*>(p)->level[node]; }
int player_held(void* p, int node) { return static_cast<Player*>(p)->held[node]; }
int player_look(void* p, int place) { return static_cast<Player*>(p)->board.look(place); }
}
