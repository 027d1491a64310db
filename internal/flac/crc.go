package flac

// The checksums of frames, RFC 9639 sections 9.1.8 and 9.3: polynomials x⁸+x²+x+1 and x¹⁶+x¹⁵+x²+1,
// most significant bit first, from zero. Table k of crc16Tables is for a byte that k more bytes
// follow.
var (
	crc8Table   = makeCRC8Table()
	crc16Tables = makeCRC16Tables()
)

func makeCRC8Table() (table [256]uint8) {
	for i := range table {
		c := uint8(i)
		for range 8 {
			c = c<<1 ^ 0x07*(c>>7)
		}
		table[i] = c
	}
	return table
}

func makeCRC16Tables() (tables [8][256]uint16) {
	for i := range 256 {
		c := uint16(i) << 8
		for range 8 {
			c = c<<1 ^ 0x8005*(c>>15)
		}
		tables[0][i] = c
	}
	for k := 1; k < len(tables); k++ {
		for i, c := range tables[k-1] {
			tables[k][i] = c<<8 ^ tables[0][c>>8]
		}
	}
	return tables
}

func crc8(b []byte) (c uint8) {
	for _, v := range b {
		c = crc8Table[c^v]
	}
	return c
}

// crc16 takes eight bytes at a time, each through its own table, so that none waits for the one
// before.
func crc16(b []byte) (c uint16) {
	t := &crc16Tables
	for ; len(b) >= 8; b = b[8:] {
		c = t[7][b[0]^uint8(c>>8)] ^ t[6][b[1]^uint8(c)] ^ t[5][b[2]] ^ t[4][b[3]] ^ t[3][b[4]] ^ t[2][b[5]] ^ t[1][b[6]] ^ t[0][b[7]]
	}
	for _, v := range b {
		c = c<<8 ^ t[0][uint8(c>>8)^v]
	}
	return c
}
